"""Robust slopes, against Sen's published example and scipy."""

import random

import pytest
from scipy import stats

from inspections.domain.trends import slope_of

# Sen, JASA 63 (1968), the worked example, as scipy's own tests have it.
SEN = list(zip([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78], strict=True))


def test_sens_published_example_comes_out() -> None:
    slope = slope_of([SEN], confidence=0.93)
    assert slope is not None
    assert slope.interval is not None
    assert (slope.per_unit, slope.pairs) == (4, 21)
    assert slope.interval == pytest.approx((3.71, 4.38), abs=0.005)


@pytest.mark.parametrize("seed", range(60))
def test_one_stretch_is_what_scipy_finds(seed: int) -> None:
    chance = random.Random(seed)
    count = chance.randint(5, 16)
    times = chance.sample(range(60), count)
    amounts = [chance.choice([1.0, chance.gauss(0, 2)]) for _ in times]
    oracle = stats.theilslopes(amounts, times, 0.95)
    slope = slope_of([list(zip(times, amounts, strict=True))])
    assert slope is not None
    assert slope.per_unit == pytest.approx(oracle.slope)
    # scipy gives the outermost slopes where ranks lie beyond them; there the pairs are too few, and it is said so.
    if slope.interval is not None:
        assert slope.interval == pytest.approx((oracle.low_slope, oracle.high_slope))


def test_three_points_are_too_few_for_an_interval() -> None:
    slope = slope_of([[(0, 9), (1, 5), (2, 1)]])
    assert slope is not None
    assert (slope.per_unit, slope.interval) == (-4, None)


def test_a_step_between_two_stretches_is_no_slope() -> None:
    first, second = [(day, 20.0 - day) for day in range(4)], [(day, 60.0 - day) for day in range(4, 9)]
    apart = slope_of([first, second])
    assert apart is not None
    assert (apart.per_unit, apart.interval) == (-1, (-1, -1))


@pytest.mark.parametrize("stretches", [[], [[]], [[(1, 2)]], [[(1, 2), (1, 3)]], [[(1, 2)], [(2, 3)]]])
def test_without_two_moments_in_one_stretch_there_is_no_slope(stretches: list[list[tuple[float, float]]]) -> None:
    assert slope_of(stretches) is None


def test_one_wild_reading_moves_the_slope_little() -> None:
    points = [(float(day), -2.0 * day) for day in range(9)]
    points[4] = (4.0, 500.0)
    slope = slope_of([points])
    assert slope is not None
    assert slope.per_unit == -2
