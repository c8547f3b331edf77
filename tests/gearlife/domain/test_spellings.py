"""One serial as lists, spreadsheets and hands write it; and serials that only look alike at a glance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.normal_form import normal_form
from gearlife.domain.spellings import Spellings

SERIALS = st.text("AK019- \u2013", max_size=9)


@pytest.mark.parametrize(
    "spelt", ["ak-9", "AK\u20139", "AK\u20119", "AK9", "A K 9", "AK-09", "ak.009", "\uff21\uff2b\uff19"]
)
def test_dashes_blanks_case_and_zeros_make_no_other_serial(spelt: str) -> None:
    assert Spellings(["AK-9", "AK-10"]).of(spelt) == ["AK-9"]


@pytest.mark.parametrize(
    ("one", "other"),
    [("AK-9-01", "AK901"), ("AK-9-01", "AK-9-1"), ("AK-9-01", "AK91"), ("5-0-0", "500"), ("AK-0", "AK-00")],
)
def test_zeros_count_for_nothing_where_a_number_begins(one: str, other: str) -> None:
    assert Spellings([one]).of(other) == [normal_form(one)]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("AK-1", "AK-10"),
        ("1001", "11"),
        ("AK-0", "AK"),
        ("AK-9", "AL-9"),
        ("AK-9", "AK-99"),
        ("R1-000001", "R0-000011"),
    ],
)
def test_other_numbers_and_letters_are_another_serial(one: str, other: str) -> None:
    assert Spellings([one]).of(other) == []


@given(SERIALS, SERIALS)
def test_it_is_the_same_question_both_ways(one: str, other: str) -> None:
    assert bool(Spellings([one]).of(other)) == bool(Spellings([other]).of(one))


@given(SERIALS)
def test_a_serial_is_a_spelling_of_itself_once(serial: str) -> None:
    assert Spellings([serial, f" {serial} "]).of(serial) == [normal_form(serial)]
