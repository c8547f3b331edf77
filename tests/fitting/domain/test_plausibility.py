"""Doubts: warnings with their reason. The band of heads is checked against published growth references.

`rcpchgrowth` is the reference package of a paediatric college (UK-WHO, and Cole's references for head circumference):
every centile that it draws has to lie inside our band, at every age that it has.
"""

from datetime import date

import pytest
from rcpchgrowth import constants, measurement_from_sds

from fitting.domain.lengths import show_length
from fitting.domain.measuring import USUAL_ERROR_MM
from fitting.domain.plausibility import Earlier, age_on, band_mm, doubts, head_median_mm, last_comparable
from fitting.domain.vocabulary import MeasurementKind, Protocol, Tape
from gearlife.domain.vocabulary import Units

HEAD, CHEST = MeasurementKind.HEAD_CIRCUMFERENCE, MeasurementKind.CHEST_CIRCUMFERENCE
BROWS, GIRTH = Protocol.BROWS_AND_EARS.value, Protocol.LARGEST_GIRTH.value
# The 0.4th and 99.6th centile lie two and two thirds of a standard deviation from the median.
OUTERMOST = 8 / 3
AGES = [4 + month / 12 for month in range(12 * 14 + 1)]
DAY = date(2026, 10, 14)


def reference(sex: str, age: float, deviations: float) -> float | None:
    """Millimetres of the reference, None where it has no head circumference at this age."""
    try:
        found = measurement_from_sds(constants.UK_WHO, deviations, constants.HEAD_CIRCUMFERENCE, sex, age)
    except (LookupError, ValueError, TypeError):
        return None
    return None if found is None else 10 * float(found)


@pytest.mark.parametrize("sex", ["male", "female"])
def test_every_centile_of_the_growth_references_is_believed(sex: str) -> None:
    found = [
        (age, value)
        for age in AGES
        for deviations in (-OUTERMOST, -2, -1, 0, 1, 2, OUTERMOST)
        if (value := reference(sex, age, deviations)) is not None
    ]
    outside = [(age, value) for age, value in found if not band_mm(HEAD, age)[0] <= value <= band_mm(HEAD, age)[1]]
    assert outside == []
    # The reference ends for girls at 17 and for boys at 18.
    assert max(age for age, _ in found) == (18 if sex == "male" else 17)
    assert min(age for age, _ in found) == 4


@pytest.mark.parametrize("age", range(6, 18))
def test_the_middle_of_the_band_is_that_of_the_growth_references(age: int) -> None:
    """Boys' and girls' medians together; below six the line is our own, and a little above them."""
    medians = [value for sex in ("male", "female") if (value := reference(sex, age, 0)) is not None]
    assert len(medians) == 2
    assert head_median_mm(age) == pytest.approx(sum(medians) / 2, abs=4)


@pytest.mark.parametrize("sex", ["male", "female"])
def test_whoever_is_too_young_to_play_is_doubted_as_too_small(sex: str) -> None:
    """From before birth on, where the references begin: the head of an infant is a slip of the pen here."""
    found = [reference(sex, months / 12, 0) for months in range(-3, 12)]
    known = [value for value in found if value is not None]
    assert len(known) == len(found)
    assert max(known) < band_mm(HEAD, None)[0]


@pytest.mark.parametrize("sex", ["male", "female"])
def test_the_band_doubts_what_is_far_outside_the_references(sex: str) -> None:
    for age in range(4, 18):
        low, high = reference(sex, age, -8.0), reference(sex, age, 8.0)
        assert low is not None
        assert high is not None
        assert low < band_mm(HEAD, age)[0]
        assert band_mm(HEAD, age)[1] < high


# ANSUR II (trade.md, section 4): mean and standard deviation of men and women, in millimetres.
@pytest.mark.parametrize(
    ("kind", "mean", "deviation"),
    [(HEAD, 574.4, 16.1), (HEAD, 561.1, 19.4), (CHEST, 1058.7, 87.4), (CHEST, 946.9, 82.7)],
)
def test_three_deviations_of_the_grown_are_believed(kind: MeasurementKind, mean: float, deviation: float) -> None:
    low, high = band_mm(kind, 25)
    assert low <= mean - 3 * deviation
    assert mean + 3 * deviation <= high


def test_the_middle_of_the_band_grows_and_stands_still() -> None:
    middles = [head_median_mm(age) for age in range(2, 30)]
    assert middles == sorted(middles)
    assert head_median_mm(18) == head_median_mm(60) == 568
    assert band_mm(HEAD, None) == (band_mm(HEAD, 4)[0], band_mm(HEAD, 18)[1])


def said(value: float, *, last: Earlier | None = None, protocol: str = BROWS, tape: str = "") -> str:
    found = doubts(
        kind=HEAD,
        value_mm=value,
        protocol=protocol,
        taken_on=DAY,
        age=15.0,
        last=last,
        unit=Units.CENTIMETRES,
        tape=tape,
    )
    return " ".join(found)


def test_what_is_usual_is_not_doubted() -> None:
    assert said(560) == ""
    assert said(560, last=Earlier(556, BROWS, date(2025, 10, 14))) == ""


def test_a_length_outside_the_band_is_doubted_with_the_band() -> None:
    words = said(700)
    assert show_length(700, Units.CENTIMETRES) in words
    assert "at about 15 years" in words


def test_growth_beyond_the_usual_is_doubted_either_way() -> None:
    a_year_ago = date(2025, 10, 14)
    assert "0.9 cm more than on 2025-10-14" in said(569, last=Earlier(560, BROWS, a_year_ago))
    assert "0.9 cm less" in said(551, last=Earlier(560, BROWS, a_year_ago))
    assert said(568, last=Earlier(560, BROWS, a_year_ago)) == ""
    assert said(569, last=Earlier(560, BROWS, date(2024, 10, 14))) == ""
    # In weeks a head does not grow more than it may in a year, and the error of a tape is no growth.
    assert said(560 + 2 * USUAL_ERROR_MM[HEAD], last=Earlier(560, BROWS, date(2026, 10, 1))) == ""


def test_two_protocols_are_not_compared_and_it_is_said() -> None:
    assert "not compared" in said(590, last=Earlier(560, GIRTH, date(2025, 10, 14)))
    assert "more than" not in said(590, last=Earlier(560, GIRTH, date(2025, 10, 14)))
    assert "Nobody told where the tape lay now" in said(560, protocol="", last=Earlier(560, "", date(2025, 10, 14)))
    assert "Nobody told where the tape lay on 2025-10-14" in said(560, last=Earlier(560, "", date(2025, 10, 14)))


def test_the_last_with_the_tape_in_the_same_place_is_compared() -> None:
    earlier = [Earlier(550, BROWS, date(2024, 1, 1)), Earlier(561, GIRTH, date(2025, 1, 1))]
    assert last_comparable(earlier, BROWS) == earlier[0]
    assert last_comparable(earlier, Protocol.FINGER_ABOVE_BROWS) == earlier[1]
    assert last_comparable([], BROWS) is None


def test_a_tape_that_stretches_is_doubted() -> None:
    assert "stretches" in said(560, tape=Tape.STRETCHING)


def test_an_age_is_the_middle_of_what_it_may_be() -> None:
    assert age_on(date(2026, 12, 31), 2010) == pytest.approx(16.5, abs=0.01)
    assert age_on(date(2026, 1, 1), 2010) == pytest.approx(15.5, abs=0.01)
    assert age_on(DAY, None) is None
