"""What makes one item a replacement for another, in words; only the head it is fitted on decides."""

from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from gearlife.domain.vocabulary import Kind

FITTED_ON = {
    Kind.HELMET: "It is fitted on the head before it is worn.",
    Kind.SHOULDER_PADS: "It is fitted on the player before it is worn.",
}
NOT_COMPARABLE = "the size letters of two models are not comparable, so it is only to try on"


class Likeness(IntEnum):
    """How near a replacement comes to what it replaces; the nearest first."""

    SAME = 0
    SAME_SIZE_LABEL = 1
    OTHER = 2


@dataclass(frozen=True)
class Replacement:
    """One item that could replace another. `life_ends_on` is the earliest fall of what would stop it; None: nothing."""

    likeness: Likeness
    same_model: bool
    kind: Kind
    size: str
    life_ends_on: date | None
    season_ends_on: date | None
    first: str = ""

    @property
    def try_on(self) -> bool:
        """Whether it is a guess to be tried on, not the same thing again."""
        return self.likeness is not Likeness.SAME

    @property
    def why(self) -> str:
        """Why it stands where it does, what is to be done first, and that it is fitted before it is worn."""
        parts = (self._likeness(), self._life(), self.first, FITTED_ON[self.kind])
        return " ".join(part for part in parts if part)

    def _likeness(self) -> str:
        size = f"size {self.size}" if self.size else "size not recorded"
        if self.likeness is Likeness.SAME:
            return f"The same model in the same {size}."
        if self.same_model:
            return f"The same model, {size}: another size, so it is only to try on."
        if self.likeness is Likeness.SAME_SIZE_LABEL:
            return f"Another model with the same size label ({self.size}): {NOT_COMPARABLE}."
        return f"Another model, {size}: {NOT_COMPARABLE}."

    def _life(self) -> str:
        if self.life_ends_on is None:
            return "No limit is running that would stop it."
        beyond = (self.life_ends_on - self.season_ends_on).days if self.season_ends_on else 0
        more = f", {beyond} {'day' if beyond == 1 else 'days'} after the season's last game" if beyond > 0 else ""
        return f"The first limit that would stop it falls on {self.life_ends_on}{more}."
