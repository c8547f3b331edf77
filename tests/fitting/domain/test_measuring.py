"""Readings become one measurement. The technical error is checked against the worked example of trade.md, section 4."""

from itertools import permutations
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitting.domain.measuring import (
    FEWEST_PAIRS,
    TOLERANCE_MM,
    USUAL_ERROR_MM,
    Agreement,
    TechnicalError,
    double_readings,
    error_of,
    measured,
    technical_error,
)
from fitting.domain.vocabulary import MeasurementKind

HEAD = MeasurementKind.HEAD_CIRCUMFERENCE
WORKED = [(57.2, 57.0), (55.1, 55.4), (58.4, 58.3), (54.0, 54.2), (59.3, 59.0)]


def test_the_technical_error_of_the_worked_example() -> None:
    error = technical_error([(10 * one, 10 * other) for one, other in WORKED])
    assert error is not None
    assert (round(error.error_mm / 10, 4), error.pairs) == (0.1643, 5)
    assert error.reliability(16.1) == pytest.approx(1 - (1.643 / 16.1) ** 2, abs=1e-4)
    assert technical_error([]) is None


def test_one_reading_stands_alone() -> None:
    assert measured([572], HEAD).agreement is Agreement.ONE
    twice = measured([572, 572], HEAD)
    assert (twice.agreement, twice.used) == (Agreement.ONE, (572,))


def test_two_that_agree_are_averaged() -> None:
    two = measured([572, 575], HEAD)
    assert (two.agreement, two.value_mm) == (Agreement.AGREED, 573.5)


def test_two_that_disagree_want_a_third_and_the_two_that_agree_are_averaged() -> None:
    assert measured([572, 580], HEAD).agreement is Agreement.THIRD_WANTED
    three = measured([572, 580, 573], HEAD)
    assert (three.agreement, three.value_mm, three.used) == (Agreement.AGREED, 572.5, (572, 573))


@pytest.mark.parametrize(
    "readings", [[570, 590, 570], [590, 570, 570], [570, 570, 590, 570], [570, 590, 591, 570, 570]]
)
def test_a_later_reading_that_says_the_same_agrees_and_the_slip_is_left_out(readings: list[float]) -> None:
    found = measured(readings, HEAD)
    assert (found.agreement, found.value_mm) == (Agreement.AGREED, 570)


def test_what_was_typed_twice_and_then_read_otherwise_wants_a_third() -> None:
    found = measured([570, 570, 590], HEAD)
    assert (found.agreement, found.used) == (Agreement.THIRD_WANTED, (570, 590))


def test_three_that_all_disagree_are_said_to() -> None:
    three = measured([560, 570, 580], HEAD)
    assert (three.agreement, three.settled) == (Agreement.DISAGREE, False)


@pytest.mark.parametrize("readings", sorted(set(permutations([571, 572, 573, 572.5, 752]))))
def test_a_slip_among_five_is_left_out_wherever_it_stands(readings: tuple[float, ...]) -> None:
    found = measured(readings, HEAD)
    assert (found.agreement, 752 in found.used, len(found.used)) == (Agreement.AGREED, False, 4)
    assert found.value_mm == pytest.approx(572.125)


@pytest.mark.parametrize("readings", [[], [570] * 10])
def test_none_and_more_than_anybody_takes_are_refused(readings: list[float]) -> None:
    with pytest.raises(ValueError, match="one to 9"):
        measured(readings, HEAD)


@given(st.lists(st.integers(4500, 6500).map(lambda tenths: tenths / 10), min_size=1, max_size=9))
def test_what_is_averaged_agrees_and_is_among_the_readings(readings: list[float]) -> None:
    found = measured(readings, HEAD)
    assert found.value_mm == pytest.approx(fmean(found.used))
    assert set(found.used) <= set(readings)
    if found.agreement is Agreement.AGREED:
        assert max(found.used) - min(found.used) <= TOLERANCE_MM[HEAD]
        assert len(found.used) > 1


def test_double_readings_are_the_first_two_and_none_that_was_typed_twice() -> None:
    kept = [[572, 574, 573], [560], [550, 550], [600, 612, 601]]
    assert double_readings(kept) == [(572, 574), (600, 612)]


def test_the_clubs_own_error_counts_from_enough_pairs_on() -> None:
    few, many = TechnicalError(3.0, FEWEST_PAIRS - 1), TechnicalError(3.0, FEWEST_PAIRS)
    assert error_of(HEAD, few, 1) == USUAL_ERROR_MM[HEAD] == error_of(HEAD, None, 1)
    assert error_of(HEAD, many, 1) == 3.0
    assert error_of(HEAD, many, 4) == 1.5
