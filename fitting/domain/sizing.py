"""Sizes by a maker's chart, and how sure that is: the probability that the true measure lies in each size's range.

A chart is one model's. The size letters of two models are never compared.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import erf, prod, sqrt
from typing import NamedTuple

from fitting.domain.vocabulary import MeasurementKind

LIKELY = 0.8
POSSIBLE = 0.1
ROOT_2 = sqrt(2)


class Likelihood(StrEnum):
    """What people are told instead of a number."""

    LIKELY = "likely"
    BETWEEN = "between"
    UNLIKELY = "unlikely"


@dataclass(frozen=True)
class SizeRange:
    """One row of a chart: a size and the range of one measure, in millimetres; an open end is infinite."""

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


class Candidate(NamedTuple):
    """One size: the probability that the player is of it, and what people are told."""

    size: str
    probability: float
    likelihood: Likelihood


class Sizing:
    """A chart made ready to be asked for many players."""

    def __init__(self, ranges: Iterable[SizeRange], weights: Iterable[WeightRange] = ()) -> None:
        """Take the rows of one chart, by size; a size keeps its spelling of the first row."""
        spelt: dict[str, str] = {}
        self.rows: dict[str, list[SizeRange]] = {}
        for row in ranges:
            self.rows.setdefault(spelt.setdefault(row.size.casefold(), row.size), []).append(row)
        self._weights = [(spelt.get(row.size.casefold(), row.size), row) for row in weights]

    @cached_property
    def kinds(self) -> frozenset[MeasurementKind]:
        """What has to be measured for this chart."""
        return frozenset(row.kind for of_size in self.rows.values() for row in of_size)

    @property
    def sizes(self) -> Sequence[str]:
        """The sizes of this chart, in the order of its rows."""
        return list(self.rows)

    @property
    def weighs(self) -> bool:
        """Whether the maker gives weights."""
        return bool(self._weights)

    def of(self, measures: Mapping[MeasurementKind, Estimate], weight_kg: float | None = None) -> list[Candidate]:
        """Each size with the probability that every measure of its row is the player's, the most probable first.

        Measures are taken as independent and their errors as normal. A size of which a measure is missing is left
        out. A weight outside a size's range makes the size impossible, where weight and range are known.
        """
        barred = self.barred(weight_kg)
        found = {
            size: 0.0 if size in barred else prod([within(row, measures[row.kind]) for row in of_size])
            for size, of_size in self.rows.items()
            if all(row.kind in measures for row in of_size)
        }
        best_first = sorted(found.items(), key=lambda each: (-each[1], each[0]))
        return [Candidate(size, probability, likelihood(probability)) for size, probability in best_first]

    def beyond(self, measures: Mapping[MeasurementKind, Estimate]) -> str:
        """`smaller` or `larger` where a measure lies outside all sizes of the chart; empty where none does."""
        for kind in sorted(self.kinds & measures.keys()):
            rows = [row for of_size in self.rows.values() for row in of_size if row.kind is kind]
            if measures[kind].value_mm < min(row.from_mm for row in rows):
                return "smaller"
            if measures[kind].value_mm > max(row.to_mm for row in rows):
                return "larger"
        return ""

    def barred(self, weight_kg: float | None) -> set[str]:
        """The sizes that the weight makes impossible."""
        if weight_kg is None:
            return set()
        return {size for size, row in self._weights if not row.from_kg <= weight_kg <= row.to_kg}


def sizes(
    ranges: Iterable[SizeRange],
    measures: Mapping[MeasurementKind, Estimate],
    weights: Iterable[WeightRange] = (),
    weight_kg: float | None = None,
) -> list[Candidate]:
    """`Sizing.of` for one player."""
    return Sizing(ranges, weights).of(measures, weight_kg)


def within(row: SizeRange, estimate: Estimate) -> float:
    """The probability that the true measure lies in the row's range."""
    if estimate.error_mm <= 0:
        return float(row.from_mm <= estimate.value_mm <= row.to_mm)
    scale = estimate.error_mm * ROOT_2
    return 0.5 * (erf((row.to_mm - estimate.value_mm) / scale) - erf((row.from_mm - estimate.value_mm) / scale))


def likelihood(probability: float) -> Likelihood:
    """The word for a probability."""
    if probability >= LIKELY:
        return Likelihood.LIKELY
    return Likelihood.BETWEEN if probability >= POSSIBLE else Likelihood.UNLIKELY


def to_try(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The sizes worth trying: all that are not unlikely."""
    return [each for each in candidates if each.likelihood is not Likelihood.UNLIKELY]
