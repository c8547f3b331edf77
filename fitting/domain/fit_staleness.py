"""When a fit no longer says anything: computed from what was recorded since, never stored.

"No swapping between players without a refit", and measuring anew every season, after a haircut, a growth spurt or a
change of weight, are published advice. How much growth a fit bears is the tolerance between two readings: common
practice, no source.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from fitting.domain.measuring import TOLERANCE_MM
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind

MEASURED_FOR: Mapping[Kind, tuple[MeasurementKind, ...]] = {
    Kind.HELMET: (MeasurementKind.HEAD_CIRCUMFERENCE,),
    Kind.SHOULDER_PADS: (MeasurementKind.CHEST_CIRCUMFERENCE, MeasurementKind.SHOULDER_WIDTH),
}


class Cause(StrEnum):
    """What makes a fit stale."""

    RHYTHM = "rhythm"
    GROWTH = "growth"
    HAIRCUT = "haircut"
    WEIGHT = "weight"
    OTHER_PAD = "other_pad"
    RECONDITIONED = "reconditioned"
    AIR_LEAK = "air_leak"
    ANOTHER_PLAYER = "another_player"


# No measurement is ever said: coaches read alerts.
WORDS: Mapping[Cause, str] = {
    Cause.RHYTHM: "The fit has been due again since {on}.",
    Cause.GROWTH: "The player was measured anew on {on}, and has changed by more than a fit bears.",
    Cause.HAIRCUT: "The player's hair has been cut or worn otherwise since {on}.",
    Cause.WEIGHT: "The player's weight has changed since {on}.",
    Cause.OTHER_PAD: "A pad of another size or thickness was put in on {on}.",
    Cause.RECONDITIONED: "It has been reconditioned since.",
    Cause.AIR_LEAK: "It lost much air on {on}.",
    Cause.ANOTHER_PLAYER: "It was set for another player on {on}.",
}
CHANGES_HEAD = frozenset({Cause.HAIRCUT})


@dataclass(frozen=True)
class Pad:
    """A pad as the maker names it: what matters to the fit is how large and how thick it is."""

    size: str
    thickness_mm: float | None = None


def is_refit(before: Pad, after: Pad) -> bool:
    """Whether putting in one pad for another asks for a new fit; like for like does not."""
    return before != after


@dataclass(frozen=True)
class Event:
    """Something that happened on a day, and when the records learnt of it."""

    cause: Cause
    on: date
    noted_at: datetime

    @property
    def words(self) -> str:
        """What it says of the fit."""
        return WORDS[self.cause].format(on=self.on)


@dataclass(frozen=True)
class Taken:
    """One measurement of the player, and where the tape lay."""

    kind: MeasurementKind
    protocol: str
    value_mm: float
    taken_on: date
    noted_at: datetime


@dataclass(frozen=True)
class Fitted:
    """An accepted fit: of what, when, by moment and by day on the club's calendar, and what stood behind it."""

    kind: Kind
    at: datetime
    on: date
    measured: Taken | None = None


def stale_because(fit: Fitted, events: Iterable[Event], taken: Iterable[Taken]) -> list[Event]:
    """Everything that has made the fit stale, the earliest first; empty while it still says something.

    `events` and `taken` are all that is known of the pair; what was before the fit, or was known at it, says nothing.
    """
    since = [event for event in events if _counts(fit, event)]
    return sorted([*since, *_growth(fit, list(taken))], key=lambda event: (event.on, event.cause))


def _counts(fit: Fitted, event: Event) -> bool:
    if event.cause in CHANGES_HEAD and fit.kind is not Kind.HELMET:
        return False
    return event.cause is Cause.RHYTHM or (event.on >= fit.on and event.noted_at > fit.at)


def _growth(fit: Fitted, taken: list[Taken]) -> Iterator[Event]:
    """One for each kind of measurement that has changed by more than the tolerance; protocols are not compared."""
    for kind in MEASURED_FOR[fit.kind]:
        of_kind = sorted((each for each in taken if each.kind is kind), key=lambda each: (each.taken_on, each.noted_at))
        before = fit.measured if fit.measured and fit.measured.kind is kind else _last_before(fit, of_kind)
        after = _last_after(fit, of_kind, before.protocol) if before else None
        if before and after and abs(after.value_mm - before.value_mm) > TOLERANCE_MM[kind]:
            yield Event(Cause.GROWTH, after.taken_on, after.noted_at)


def _last_before(fit: Fitted, of_kind: list[Taken]) -> Taken | None:
    return next((each for each in reversed(of_kind) if each.taken_on <= fit.on and each.noted_at <= fit.at), None)


def _last_after(fit: Fitted, of_kind: list[Taken], protocol: str) -> Taken | None:
    later = (each for each in reversed(of_kind) if each.taken_on >= fit.on and each.noted_at > fit.at)
    return next((each for each in later if each.protocol == protocol), None)
