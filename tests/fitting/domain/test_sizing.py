"""Sizes by a chart: probabilities against scipy and a Monte Carlo."""

from collections import Counter
from math import inf
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from fitting.domain.sizing import (
    Estimate,
    Likelihood,
    SizeRange,
    Sizing,
    WeightRange,
    likelihood,
    sizes,
    to_try,
    within,
)
from fitting.domain.vocabulary import MeasurementKind

HEAD = MeasurementKind.HEAD_CIRCUMFERENCE
CHEST = MeasurementKind.CHEST_CIRCUMFERENCE
SHOULDER = MeasurementKind.SHOULDER_WIDTH
# An invented chart, in the steps in which shells differ.
HELMETS = [SizeRange("S", HEAD, 510, 545), SizeRange("M", HEAD, 545, 575), SizeRange("L", HEAD, 575, 615)]
PADS = [
    *(SizeRange("S", CHEST, 700, 860), SizeRange("M", CHEST, 860, 960), SizeRange("L", CHEST, 960, 1100)),
    *(SizeRange("S", SHOULDER, 360, 420), SizeRange("M", SHOULDER, 420, 460), SizeRange("L", SHOULDER, 460, 520)),
]
errors = st.floats(0.5, 20)
values = st.floats(400, 700)


@given(values, errors, st.floats(400, 700), st.floats(0.1, 100))
def test_the_probability_of_a_range_is_the_normal_distributions(
    value: float, error: float, low: float, width: float
) -> None:
    row = SizeRange("M", HEAD, low, low + width)
    expected = norm.cdf(low + width, value, error) - norm.cdf(low, value, error)
    assert within(row, Estimate(value, error)) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("low", "high"), [(-inf, 560), (560, inf)])
def test_an_open_end_is_the_normal_distributions_tail(low: float, high: float) -> None:
    expected = norm.cdf(high, 565, 4) - norm.cdf(low, 565, 4)
    assert within(SizeRange("M", HEAD, low, high), Estimate(565, 4)) == pytest.approx(expected, abs=1e-12)


def test_two_measures_are_as_probable_as_a_monte_carlo_finds_them() -> None:
    measures = {CHEST: Estimate(955, 8), SHOULDER: Estimate(457, 5)}
    draw, rounds = Random(20261014), 200_000
    found: Counter[str] = Counter()
    for _ in range(rounds):
        chest, shoulder = (draw.gauss(each.value_mm, each.error_mm) for each in measures.values())
        for size, chest_row, shoulder_row in zip("SML", PADS[:3], PADS[3:], strict=True):
            inside = chest_row.from_mm <= chest <= chest_row.to_mm
            found[size] += inside and shoulder_row.from_mm <= shoulder <= shoulder_row.to_mm
    for candidate in sizes(PADS, measures):
        # Five standard errors of a share.
        share = found[candidate.size] / rounds
        assert candidate.probability == pytest.approx(share, abs=5 * (0.25 / rounds) ** 0.5)


def test_in_the_middle_of_a_range_one_size_is_likely_and_on_a_border_two_are_tried() -> None:
    middle, border = sizes(HELMETS, {HEAD: Estimate(560, 2)}), sizes(HELMETS, {HEAD: Estimate(575, 2)})
    assert (middle[0].size, middle[0].likelihood) == ("M", Likelihood.LIKELY)
    assert [each.size for each in to_try(middle)] == ["M"]
    assert [each.size for each in to_try(border)] == ["L", "M"]
    assert {each.likelihood for each in to_try(border)} == {Likelihood.BETWEEN}


def test_a_size_of_which_a_measure_is_missing_is_left_out() -> None:
    assert sizes(PADS, {CHEST: Estimate(900, 8)}) == []
    assert Sizing(PADS).kinds == {CHEST, SHOULDER}


def test_a_weight_outside_its_range_makes_a_size_impossible() -> None:
    measures = {CHEST: Estimate(900, 8), SHOULDER: Estimate(440, 5)}
    by_weight = [WeightRange("m", 30, 50), WeightRange("L", 45, 90)]
    assert sizes(PADS, measures, by_weight, 40)[0].likelihood is Likelihood.LIKELY
    assert sizes(PADS, measures, by_weight, 80)[0].probability < 0.001
    assert sizes(PADS, measures, by_weight)[0].likelihood is Likelihood.LIKELY


def test_whoever_is_outside_the_chart_is_said_to_be_smaller_or_larger() -> None:
    sizing = Sizing(HELMETS)
    assert sizing.beyond({HEAD: Estimate(480, 2)}) == "smaller"
    assert sizing.beyond({HEAD: Estimate(640, 2)}) == "larger"
    assert sizing.beyond({HEAD: Estimate(560, 2)}) == ""
    assert to_try(sizing.of({HEAD: Estimate(640, 2)})) == []


def test_overlapping_rows_leave_two_sizes_likely() -> None:
    rows = [SizeRange("S", HEAD, 510, 560), SizeRange("M", HEAD, 545, 590)]
    assert {each.likelihood for each in sizes(rows, {HEAD: Estimate(552, 1)})} == {Likelihood.LIKELY}


def test_without_error_a_measure_is_in_or_out() -> None:
    assert [each.probability for each in sizes(HELMETS, {HEAD: Estimate(560, 0)})] == [1, 0, 0]


@pytest.mark.parametrize(
    ("probability", "word"),
    [(0.8, Likelihood.LIKELY), (0.79, Likelihood.BETWEEN), (0.1, Likelihood.BETWEEN), (0.09, Likelihood.UNLIKELY)],
)
def test_a_probability_has_its_word(probability: float, word: Likelihood) -> None:
    assert likelihood(probability) is word
