"""Loaners: gear of the room that was set up for a band of sizes before the game day, and what makes that void."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from fitting.domain.fit_staleness import MEASURED_FOR
from fitting.domain.lengths import LONGEST_MM, SHORTEST_MM
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind


@dataclass(frozen=True)
class Band:
    """The players for whom it was set up: those whose measure lies in this range, in millimetres, ends included."""

    measure: MeasurementKind
    low_mm: float
    high_mm: float

    def has(self, value_mm: float) -> bool:
        """Whether a measure lies in it."""
        return self.low_mm <= value_mm <= self.high_mm


@dataclass(frozen=True)
class BandFault:
    """What is wrong with a band; they count from 0, `member` is its part."""

    band: int
    member: str
    words: str


def band_faults(kind: Kind, bands: Sequence[Band]) -> Iterator[BandFault]:
    """Bands of what this kind is not fitted by, doubled, reversed or of no body; the girth is always asked for."""
    known, seen = MEASURED_FOR[kind], [band.measure for band in bands]
    if known[0] not in seen:
        yield BandFault(0, "measure", f"Say for which {_called(known[0])} it was set up.")
    for number, band in enumerate(bands):
        if band.measure not in known:
            yield BandFault(number, "measure", f"This kind of gear is not set up by the {_called(band.measure)}.")
        elif band.measure in seen[:number]:
            yield BandFault(number, "measure", f"The {_called(band.measure)} stands there twice.")
        if not band.low_mm < band.high_mm:
            yield BandFault(number, "from_mm", f"The {_called(band.measure)} runs backwards: the smaller comes first.")
        elif not SHORTEST_MM <= band.low_mm <= band.high_mm <= LONGEST_MM:
            yield BandFault(number, "from_mm", f"Nobody has a {_called(band.measure)} like this: look at the unit.")


def stored(band: Band) -> dict[str, Any]:
    """The band as it is kept and answered."""
    return {"measure": band.measure.value, "from_mm": band.low_mm, "to_mm": band.high_mm}


def restored(kept: Mapping[str, Any]) -> Band:
    """A band out of what is kept."""
    return Band(MeasurementKind(kept["measure"]), float(kept["from_mm"]), float(kept["to_mm"]))


class Spoilt(StrEnum):
    """What makes it void that an item was set up for its band, beside what makes any fit stale."""

    STOPPED = "stopped"
    PLAYERS_OWN = "players_own"
    ADJUSTED = "adjusted"
    RHYTHM = "rhythm"
    OTHER_SIZE = "other_size"


SPOILT_WORDS: Mapping[Spoilt, str] = {
    Spoilt.STOPPED: "It was stopped on {on}, after it had been set up.",
    Spoilt.PLAYERS_OWN: "It was handed out as a player's own on {on}, after it had been set up.",
    Spoilt.ADJUSTED: "It was adjusted to a player on {on}, after it had been set up.",
    Spoilt.RHYTHM: "It has been due to be set up again since {on}.",
    Spoilt.OTHER_SIZE: "Its size was recorded anew after it had been set up.",
}


def spoilt_words(why: Spoilt, on: date) -> str:
    """What it says on the page."""
    return SPOILT_WORDS[why].format(on=on)


def prefitted(prepared_on: date, bands: Iterable[Band], measured: Mapping[MeasurementKind, float]) -> str:
    """What the gate says of a loaner that was set up, and never fitted on this player; no measure is told."""
    words = f"Pre-fitted for its band of sizes on {prepared_on}, and on no player: check it on this player."
    return " ".join([words, *doubts(bands, measured)])


def doubts(bands: Iterable[Band], measured: Mapping[MeasurementKind, float]) -> Iterator[str]:
    """Where the player is outside the band, or nobody has measured what it goes by."""
    for band in bands:
        if band.measure not in measured:
            yield f"The player's {_called(band.measure)} is not measured."
        elif not band.has(measured[band.measure]):
            yield f"The player's {_called(band.measure)} lies outside the band."


def _called(measure: MeasurementKind) -> str:
    return measure.replace("_", " ")
