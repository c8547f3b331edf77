"""Readings become one measurement; how exactly a club measures is computed from its own double readings."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import sqrt
from statistics import fmean

from fitting.domain.vocabulary import MeasurementKind

# How far two readings may lie apart: beyond that a third is asked for (common practice, no source for the figures).
TOLERANCE_MM: Mapping[MeasurementKind, float] = {
    MeasurementKind.HEAD_CIRCUMFERENCE: 4.0,
    MeasurementKind.CHEST_CIRCUMFERENCE: 10.0,
    MeasurementKind.SHOULDER_WIDTH: 8.0,
}
# The error of one reading until the club's own is known. Head: 0.1 to 0.3 cm, from memory; the others by the same
# share of the length (common practice, no source).
USUAL_ERROR_MM: Mapping[MeasurementKind, float] = {
    MeasurementKind.HEAD_CIRCUMFERENCE: 2.0,
    MeasurementKind.CHEST_CIRCUMFERENCE: 8.0,
    MeasurementKind.SHOULDER_WIDTH: 5.0,
}
# With fewer pairs the club's own figure says less than the usual one.
FEWEST_PAIRS = 5
MOST_READINGS = 9


class Agreement(StrEnum):
    """How the readings stand to each other."""

    ONE = "one_reading"
    AGREED = "agreed"
    THIRD_WANTED = "third_wanted"
    DISAGREE = "disagree"


@dataclass(frozen=True)
class Measured:
    """One measurement out of its readings, in millimetres; `used` are those that it is the mean of."""

    value_mm: float
    used: tuple[float, ...]
    agreement: Agreement

    @property
    def settled(self) -> bool:
        """Whether nothing more has to be read: an only reading is allowed, and said."""
        return self.agreement in {Agreement.ONE, Agreement.AGREED}


def measured(readings_mm: Sequence[float], kind: MeasurementKind) -> Measured:
    """The mean of the readings that agree; a slip among them is left out.

    The same number typed again at once is one reading; a later one that says the same agrees. Two that lie further
    apart than the tolerance want a third; of three or more, the largest number that lie within the tolerance of each
    other are averaged, the closest of these.

    Raises:
        ValueError: There is no reading, or there are more than anybody takes.
    """
    if not 0 < len(readings_mm) <= MOST_READINGS:
        raise ValueError(f"give one to {MOST_READINGS} readings")
    distinct = sorted(set(readings_mm))
    if len(distinct) == 1:
        return Measured(distinct[0], (distinct[0],), Agreement.ONE)
    again = next(place for place, reading in enumerate(readings_mm) if reading != readings_mm[0]) - 1
    agreeing = _agreeing(sorted(readings_mm[again:]), TOLERANCE_MM[kind])
    if len(agreeing) > 1:
        return Measured(fmean(agreeing), tuple(agreeing), Agreement.AGREED)
    state = Agreement.THIRD_WANTED if len(distinct) == 2 else Agreement.DISAGREE  # noqa: PLR2004 - a pair
    return Measured(fmean(distinct), tuple(distinct), state)


def _agreeing(readings: Sequence[float], tolerance: float) -> Sequence[float]:
    """The most readings within the tolerance of each other, and of as many the closest; `readings` in order."""
    runs = [
        readings[first:last]
        for first in range(len(readings))
        for last in range(first + 1, len(readings) + 1)
        if readings[last - 1] - readings[first] <= tolerance
    ]
    return max(runs, key=lambda run: (len(run), run[0] - run[-1]))


@dataclass(frozen=True)
class TechnicalError:
    """The technical error of measurement, in millimetres, and from how many pairs it is."""

    error_mm: float
    pairs: int

    def reliability(self, deviation_mm: float) -> float:
        """The coefficient of reliability against the standard deviation between players: 1 - TEM^2/SD^2."""
        return 1 - (self.error_mm / deviation_mm) ** 2


def technical_error(pairs: Iterable[tuple[float, float]]) -> TechnicalError | None:
    """TEM = sqrt(sum of d^2 / 2N) over double readings; None without any."""
    squares = [(one - other) ** 2 for one, other in pairs]
    return TechnicalError(sqrt(sum(squares) / (2 * len(squares))), len(squares)) if squares else None


def double_readings(measurements: Iterable[Sequence[float]]) -> list[tuple[float, float]]:
    """The first two readings of each measurement that has two: a third was asked for because these disagreed."""
    return [
        (first, second)
        for readings in measurements
        for first, second in list(pairwise(readings))[:1]
        if first != second
    ]


def error_of(kind: MeasurementKind, known: TechnicalError | None, readings: int) -> float:
    """The standard error of a mean of so many readings: the club's own error where enough pairs tell it."""
    single = known.error_mm if known and known.pairs >= FEWEST_PAIRS else USUAL_ERROR_MM[kind]
    return single / sqrt(max(readings, 1))
