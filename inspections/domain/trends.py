"""Robust trends: the median of all slopes between two readings of one stretch, with its interval.

Theil (1950) and Sen, "Estimates of the regression coefficient based on Kendall's tau", JASA 63 (1968); that the pairs
of several stretches are taken together, as seasons are, is of Hirsch, Slack and Smith (1982).
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import sqrt
from statistics import NormalDist, median

Point = tuple[float, float]  # when, how much


@dataclass(frozen=True)
class Slope:
    """Change per unit of time, with its interval; the interval is None where the pairs are too few to give one."""

    per_unit: float
    interval: tuple[float, float] | None
    pairs: int


def slope_of(stretches: Iterable[Sequence[Point]], confidence: float = 0.95) -> Slope | None:
    """The common slope of these stretches; None where no stretch has two points at different times."""
    held = [list(stretch) for stretch in stretches]
    slopes = sorted(slope for stretch in held for slope in _slopes(stretch))
    if not slopes:
        return None
    spread = NormalDist().inv_cdf(0.5 + confidence / 2) * sqrt(sum(_variance(stretch) for stretch in held))
    return Slope(median(slopes), _interval(slopes, spread), len(slopes))


def _slopes(points: Sequence[Point]) -> list[float]:
    return [(y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(points, 2) if x1 != x2]


def _variance(points: Sequence[Point]) -> float:
    """The variance of Kendall's S, less what ties in time or in amount take from it (Sen 1968, equation 2.6)."""
    times, amounts = Counter(x for x, _ in points), Counter(y for _, y in points)
    tied = sum(_term(count) for count in (*times.values(), *amounts.values()))
    return (_term(len(points)) - tied) / 18


def _term(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)


def _interval(slopes: Sequence[float], spread: float) -> tuple[float, float] | None:
    """The slopes whose ranks lie so far from the middle (Sen 1968); None where there are none so far out."""
    lower, upper = round((len(slopes) - spread) / 2) - 1, round((len(slopes) + spread) / 2)
    return (slopes[lower], slopes[upper]) if lower >= 0 and upper < len(slopes) else None
