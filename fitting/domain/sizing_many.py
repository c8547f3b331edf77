"""The sizes of very many players by one chart at once: `Sizing.of`, number for number, in arrays.

Loads numpy: `planning` loads it when the first plan is made.
"""

from collections.abc import Mapping, Sequence
from math import erf

import numpy as np
from numpy.typing import NDArray

from fitting.domain.sizing import POSSIBLE, ROOT_2, Candidate, Estimate, Sizing, likelihood
from fitting.domain.vocabulary import MeasurementKind

Floats = NDArray[np.float64]
# What was measured of somebody, everything that the chart asks for, and the weight where it is known.
Asked = tuple[Mapping[MeasurementKind, Estimate], float | None]


def possible_of(sizing: Sizing, people: Sequence[Asked]) -> list[list[Candidate]]:
    """For each of them what `Sizing.of` says, without the sizes that are unlikely."""
    found: list[list[Candidate]] = [[] for _ in people]
    chances, sizes = probabilities(sizing, people), sizing.sizes
    numbers, persons = np.nonzero(chances >= POSSIBLE)
    possible = zip(numbers.tolist(), persons.tolist(), chances[numbers, persons].tolist(), strict=True)
    for number, person, probability in possible:
        found[person].append(Candidate(sizes[number], probability, likelihood(probability)))
    for candidates in found:
        if len(candidates) > 1:
            candidates.sort(key=lambda each: (-each.probability, each.size))
    return found


def probabilities(sizing: Sizing, people: Sequence[Asked]) -> Floats:
    """The probability of each size of the chart (a row) for each of them (a column); 0 where the weight bars it."""
    known = {kind: _Errors([measures[kind] for measures, _ in people]) for kind in sizing.kinds}
    chances = np.ones((len(sizing.sizes), len(people)))
    for number, of_size in enumerate(sizing.rows.values()):
        for row in of_size:
            chances[number] *= known[row.kind].within(row.from_mm, row.to_mm)
    if sizing.weighs:
        for person, (_, weight_kg) in enumerate(people):
            barred = sizing.barred(weight_kg)
            chances[[size in barred for size in sizing.rows], person] = 0.0
    return chances


class _Errors:
    """One measure of many people, and how it errs; neighbouring sizes share a border, which is reckoned once."""

    def __init__(self, estimates: Sequence[Estimate]) -> None:
        self._values = np.array([each.value_mm for each in estimates])
        errors = np.array([each.error_mm for each in estimates])
        self._exact = errors <= 0
        self._scales = np.where(self._exact, 1.0, errors) * ROOT_2
        self._known: dict[float, Floats] = {}

    def within(self, from_mm: float, to_mm: float) -> Floats:
        """As `sizing.within` of each."""
        spread = 0.5 * (self._erf(to_mm) - self._erf(from_mm))
        if not self._exact.any():
            return spread
        return np.where(self._exact, (from_mm <= self._values) & (self._values <= to_mm), spread)

    def _erf(self, border: float) -> Floats:
        """`math.erf` and no array's own: a plan is looked at again one by one when it is applied, to the last digit."""
        if border not in self._known:
            away = (border - self._values) / self._scales
            self._known[border] = np.fromiter(map(erf, away.tolist()), np.float64, len(away))
        return self._known[border]
