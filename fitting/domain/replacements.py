"""What makes one item a replacement for another, in words; only the head it is fitted on decides."""

from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from fitting.domain.pads_needed import PadNeeded, in_words
from fitting.domain.sizing import Candidate, Likelihood
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
class SizeWords:
    """What a model's chart says of one size for a player, and which sizes of that chart are worth trying."""

    of: Candidate
    to_try: tuple[str, ...]

    @property
    def words(self) -> str:
        """As people are told; the probability is not among it."""
        if self.of.likelihood is Likelihood.UNLIKELY:
            better = f"; {' or '.join(self.to_try)} is nearer" if self.to_try else ""
            return f"By its chart size {self.of.size} is unlikely for this player{better}."
        if self.of.likelihood is Likelihood.LIKELY and len(self.to_try) == 1:
            return f"By its chart size {self.of.size} is likely for this player."
        if len(self.to_try) > 1:
            return f"By its chart this player is between {' and '.join(self.to_try)}: try each."
        return f"By its chart size {self.of.size} is near for this player: try it."


@dataclass(frozen=True)
class Replacement:
    """One item that could replace another. `life_ends_on` is the earliest fall of what would stop it; None: nothing.

    `by_chart` is None where the player is not measured or the model has no chart; nobody's letters are compared then.
    """

    likeness: Likeness
    same_model: bool
    kind: Kind
    size: str
    life_ends_on: date | None
    season_ends_on: date | None
    first: str = ""
    by_chart: SizeWords | None = None
    accepted_before: bool = False
    pads: tuple[PadNeeded, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def rank(self) -> tuple[int, bool, int, float]:
        """The best first: the same again, then sizes by their probability, what no chart tells, what is unlikely.

        Of equals, a model of which a fit on the player was accepted comes first, then what is nearer to the item.
        """
        probability = self.by_chart.of.probability if self.by_chart else 0.0
        return self._step(), not self.accepted_before, self.likeness, -probability

    def _step(self) -> int:
        word = self.by_chart.of.likelihood if self.by_chart else None
        if word is Likelihood.UNLIKELY:
            return 4
        if self.likeness is Likeness.SAME:
            return 0
        return {Likelihood.LIKELY: 1, Likelihood.BETWEEN: 2}.get(word, 3) if word else 3

    @property
    def try_on(self) -> bool:
        """Whether it is a guess to be tried on, not the same thing again."""
        return self.likeness is not Likeness.SAME

    @property
    def why(self) -> str:
        """Why it stands where it does, what is to be done first, and that it is fitted before it is worn."""
        by_chart = self.by_chart.words if self.by_chart else ""
        before = "A fit of this model on this player was accepted before." if self.accepted_before else ""
        parts = (
            self._likeness(),
            by_chart,
            *self.remarks,
            before,
            in_words(self.pads),
            self._life(),
            self.first,
            FITTED_ON[self.kind],
        )
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
