"""Sizes by a maker's chart, and how sure that is: the probability that the true measure lies in each size's range.

A chart is one model's. The size letters of two models are never compared.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby
from math import erf, prod, sqrt

from fitting.domain.vocabulary import MeasurementKind

LIKELY = 0.8
POSSIBLE = 0.1


class Likelihood(StrEnum):
    """What people are told instead of a number."""

    LIKELY = "likely"
    BETWEEN = "between"
    UNLIKELY = "unlikely"


@dataclass(frozen=True)
class SizeRange:
    """One row of a chart: a size and the range of one measure, in millimetres; `to_mm` is still of this size."""

    size: str
    kind: MeasurementKind
    from_mm: float
    to_mm: float


@dataclass(frozen=True)
class WeightRange:
    """The weights that a maker gives a size of shoulder pads for, in kilogrammes."""

    size: str
    from_kg: float
    to_kg: float


@dataclass(frozen=True)
class Estimate:
    """A measure of a player: the mean of the readings and its standard error, in millimetres."""

    value_mm: float
    error_mm: float


@dataclass(frozen=True)
class Candidate:
    """One size: the probability that the player is of it, and what people are told."""

    size: str
    probability: float
    likelihood: Likelihood


@dataclass(frozen=True)
class ChartFault:
    """What is wrong with a row of a chart; rows count from 0."""

    row: int
    words: str


def chart_faults(rows: Sequence[SizeRange]) -> list[ChartFault]:
    """Rows that run backwards, stand twice, or leave a gap to the one before; overlapping is a maker's right."""
    return [*_reversed(rows), *_doubled(rows), *_gaps(rows)]


def sizes(
    ranges: Iterable[SizeRange],
    measures: Mapping[MeasurementKind, Estimate],
    weights: Iterable[WeightRange] = (),
    weight_kg: float | None = None,
) -> list[Candidate]:
    """Each size with the probability that every measure of its row is the player's, the most probable first.

    Measures are taken as independent and their errors as normal. A size of which a measure is missing has none.
    A weight outside a size's range makes the size impossible, where weight and range are known.
    """
    by_size = {
        size: list(of_size)
        for size, of_size in groupby(sorted(ranges, key=lambda row: row.size), key=lambda row: row.size)
    }
    barred = {} if weight_kg is None else {row.size for row in weights if not row.from_kg <= weight_kg <= row.to_kg}
    found = {
        size: 0.0 if size in barred else prod(within(row, measures[row.kind]) for row in of_size)
        for size, of_size in by_size.items()
        if all(row.kind in measures for row in of_size)
    }
    best_first = sorted(found.items(), key=lambda each: (-each[1], each[0]))
    return [Candidate(size, probability, _likelihood(probability)) for size, probability in best_first]


def within(row: SizeRange, estimate: Estimate) -> float:
    """The probability that the true measure lies in the row's range."""
    if estimate.error_mm <= 0:
        return float(row.from_mm <= estimate.value_mm <= row.to_mm)
    return _below(row.to_mm, estimate) - _below(row.from_mm, estimate)


def _below(limit: float, estimate: Estimate) -> float:
    """The normal distribution's share below a limit."""
    return 0.5 * (1 + erf((limit - estimate.value_mm) / estimate.error_mm / sqrt(2)))


def _likelihood(probability: float) -> Likelihood:
    if probability >= LIKELY:
        return Likelihood.LIKELY
    return Likelihood.BETWEEN if probability >= POSSIBLE else Likelihood.UNLIKELY


def _reversed(rows: Sequence[SizeRange]) -> Iterable[ChartFault]:
    for number, row in enumerate(rows):
        if not row.from_mm < row.to_mm:
            yield ChartFault(
                number, f"size {row.size} runs from {row.from_mm:g} to {row.to_mm:g} mm: the smaller number comes first"
            )


def _doubled(rows: Sequence[SizeRange]) -> Iterable[ChartFault]:
    first: dict[tuple[str, MeasurementKind], int] = {}
    for number, row in enumerate(rows):
        if first.setdefault((row.size.casefold(), row.kind), number) != number:
            yield ChartFault(number, f"size {row.size} stands twice for {row.kind.replace('_', ' ')}")


def _gaps(rows: Sequence[SizeRange]) -> Iterable[ChartFault]:
    """What lies between two ranges would belong to no size."""
    for kind in {row.kind for row in rows}:
        reached: float | None = None
        for number, row in sorted(enumerate(rows), key=lambda each: (each[1].from_mm, each[1].to_mm)):
            if row.kind is not kind:
                continue
            if reached is not None and row.from_mm > reached:
                yield ChartFault(number, f"between {reached:g} and {row.from_mm:g} mm there is no size: close the gap")
            reached = max(reached or row.to_mm, row.to_mm)
