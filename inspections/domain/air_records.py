"""What is recorded of the air in one cell: the acts, how it felt, a gauge's numbers, and the grade of it all."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from gearlife.domain.errors import Fault
from inspections.domain.air import Estimate, Reading, Surroundings, at_reference
from inspections.domain.atmosphere import HIGHEST_M, LOWEST_M
from inspections.domain.vocabulary import Grade

# What a reading outside of the maker's range may count as.
OUTSIDE = (Grade.WEAR, Grade.REPAIR, Grade.STOP)
# A model of which nothing else is recorded has one cell.
ONE_CELL = "liner"
CELL = re.compile(r"[a-z][a-z0-9_]{0,23}", re.ASCII)


class Act(StrEnum):
    """What was done to the air."""

    READING = "reading"
    ADDED = "added"
    RELEASED = "released"


class Felt(StrEnum):
    """How it was, for whoever has no gauge: firm, firm once air was added, or it will not hold any."""

    FIRM = "firm"
    AIR_ADDED = "air_added"
    WONT_HOLD = "wont_hold"


class Said(StrEnum):
    """A record in a word or two."""

    FIRM = "firm"
    WILL_NOT_HOLD = "will not hold"
    READ = "gauge read"
    ADDED = "air added"
    RELEASED = "air released"


# What was done where only how it felt was told.
ACTS: Mapping[Felt, Act] = {Felt.FIRM: Act.READING, Felt.AIR_ADDED: Act.ADDED, Felt.WONT_HOLD: Act.READING}


@dataclass(frozen=True)
class Measured:
    """The numbers, each None where it was not taken; the pressure is what the gauge read after the act."""

    pressure_kpa: float | None = None
    temperature_c: float | None = None
    elevation_m: float | None = None
    barometric_kpa: float | None = None
    strokes: int | None = None

    @property
    def surroundings(self) -> Surroundings | None:
        """Where it was read; None where that is not told well enough to compare it with another place."""
        if self.temperature_c is None or (self.elevation_m is None and self.barometric_kpa is None):
            return None
        return Surroundings(self.temperature_c, self.elevation_m or 0.0, self.barometric_kpa)

    @property
    def at_reference(self) -> Estimate | None:
        """The pressure at reference conditions; None without a gauge, or without temperature and height."""
        if self.pressure_kpa is None or self.surroundings is None:
            return None
        return at_reference(Reading(self.pressure_kpa, self.surroundings))


# Wider than anything that is read at a field; what lies outside was written in another unit.
BOUNDS: Mapping[str, tuple[float, float]] = {
    "pressure_kpa": (0, 200),
    "temperature_c": (-40, 60),
    "elevation_m": (LOWEST_M, HIGHEST_M),
    "barometric_kpa": (45, 110),
    "strokes": (1, 200),
}


@dataclass(frozen=True)
class Range:
    """What a maker states that a gauge should read at one of its cells, both ends included, and where it is stated."""

    lowest_kpa: float
    highest_kpa: float
    stated_in: str
    grade: Grade = Grade.REPAIR

    def holds(self, pressure_kpa: float) -> bool:
        """Whether a reading lies in it."""
        return self.lowest_kpa <= pressure_kpa <= self.highest_kpa

    def words(self, pressure_kpa: float) -> str:
        """On which side of it a reading lies; never a figure to fill to."""
        side = "under" if pressure_kpa < self.lowest_kpa else "over"
        return f"The gauge read {side} the range that the maker states ({self.stated_in})."


@dataclass(frozen=True)
class ModelAir:
    """What is known of a model's air: its cells by name in the order of the booklet, and the maker's range if any."""

    cells: tuple[str, ...] = (ONE_CELL,)
    stated: Range | None = None


NOTHING_STATED = ModelAir()


@dataclass(frozen=True)
class Kept:
    """One record as the questions about leaks and ranges take it: `on` is its day on the club's calendar."""

    cell: str
    act: Act
    felt: Felt | None
    measured: Measured
    happened_at: datetime
    recorded_at: datetime
    on: date

    @property
    def says(self) -> Said:
        """It in a word or two."""
        return said(self.act, self.felt or "")

    @property
    def moves_air(self) -> bool:
        """Whether the pressure after it has nothing to do with the one before."""
        return self.act is not Act.READING

    @property
    def needed_air(self) -> bool:
        """Whether it was found to be short of air."""
        return self.act is Act.ADDED or self.felt is Felt.WONT_HOLD


def cell_words(cell: str) -> str:
    """A cell's name as it is read."""
    return cell.replace("_", " ")


def said(act: str, felt: str) -> Said:
    """What was done and how it felt, in a word or two."""
    if felt == Felt.WONT_HOLD:
        return Said.WILL_NOT_HOLD
    if felt == Felt.FIRM and act == Act.READING:
        return Said.FIRM
    return {Act.READING: Said.READ, Act.ADDED: Said.ADDED, Act.RELEASED: Said.RELEASED}[Act(act)]


def last_check(latest: Mapping[str, datetime], cells: Iterable[str]) -> datetime | None:
    """When all of an item's cells had been looked after, by the last moment of each; None where one never was."""
    moments = [latest.get(cell) for cell in cells]
    return None if None in moments else min(filter(None, moments), default=None)


def reason_of(cell: str, felt: Felt | None) -> str:
    """Why a record of the grade `stop` holds its item, in words without anybody's name."""
    what = "will not hold air" if felt is Felt.WONT_HOLD else "outside the range that the maker states"
    return f"air, {cell_words(cell)}: {what} (stop)"


def grade_of(felt: Felt | None, measured: Measured, stated: Range | None) -> Grade:
    """What a record counts as: a cell that will not hold air stops; outside the maker's range by the range's grade."""
    if felt is Felt.WONT_HOLD:
        return Grade.STOP
    if stated and measured.pressure_kpa is not None and not stated.holds(measured.pressure_kpa):
        return stated.grade
    return Grade.NOTHING_FOUND


def faults_of(act: Act | None, felt: Felt | None, measured: Measured) -> Iterator[Fault]:
    """What is wrong with a record, by place."""
    if act is None and felt is None:
        yield Fault(
            "Say how it felt (`firm`, `air_added`, `wont_hold`), or what was done (`act`).", "/felt", "says_nothing"
        )
    if felt is Felt.AIR_ADDED and act not in (None, Act.ADDED):
        yield Fault("Air was added by how it felt, and not by what was done: which is right?", "/act", "contradiction")
    if act is Act.READING and felt is None and measured.pressure_kpa is None:
        yield Fault("A reading has a pressure, or says how it felt.", "/pressure_kpa", "says_nothing")
    if act is not Act.ADDED and felt is not Felt.AIR_ADDED and measured.strokes is not None:
        yield Fault("Strokes of the pump belong to air that was added.", "/strokes", "contradiction")
    for name, (least, most) in BOUNDS.items():
        value = getattr(measured, name)
        if value is not None and not least <= value <= most:
            unit = {"kpa": " kPa", "c": " degrees Celsius", "m": " m"}.get(name.rpartition("_")[2], "")
            words = f"This lies outside {least:g} to {most:g}{unit}: is it in another unit?"
            yield Fault(words, f"/{name}", "out_of_bounds")


def model_faults(
    cells: Sequence[str], lowest_kpa: float | None, highest_kpa: float | None, stated_in: str, outside: Grade
) -> Iterator[Fault]:
    """What is wrong with what is stated of a model's air, by place."""
    if outside not in OUTSIDE:
        yield Fault(f"A reading outside of a range counts as {', '.join(OUTSIDE)}.", "/outside_counts_as", "grade")
    if not cells or len(set(cells)) < len(cells) or not all(CELL.fullmatch(cell) for cell in cells):
        words = "Name each cell once, in small letters, figures and underscores: front, crown, left_jaw."
        yield Fault(words, "/cells", "cells")
    if (lowest_kpa is None) != (highest_kpa is None):
        yield Fault("A range has both ends, or none is stated.", "/highest_kpa", "range")
    elif lowest_kpa is not None and highest_kpa is not None:
        if not 0 <= lowest_kpa < highest_kpa <= BOUNDS["pressure_kpa"][1]:
            yield Fault("The lower end lies under the higher one, both from 0 to 200 kPa.", "/lowest_kpa", "range")
        if not stated_in:
            yield Fault("Say where the maker states it: which booklet, which page.", "/stated_in", "not_stated")
