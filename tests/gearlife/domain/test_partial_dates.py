"""Dates as labels give them, against the edtf package."""

from datetime import date
from time import struct_time

import pytest
from edtf import parse_edtf
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.partial_dates import PartialDate

texts = st.one_of(
    st.dates(date(1900, 1, 1), date(2400, 12, 31)).map(lambda day: day.isoformat()),
    st.dates(date(1900, 1, 1), date(2400, 12, 31)).map(lambda day: day.isoformat()[:7]),
    st.integers(1900, 2400).map(str),
)


def _day(moment: struct_time) -> date:
    return date(*moment[:3])


@given(text=texts)
def test_first_and_last_day_are_those_of_the_edtf_package(text: str) -> None:
    ours, theirs = PartialDate.parse(text), parse_edtf(text)

    assert (ours.earliest, ours.latest) == (_day(theirs.lower_strict()), _day(theirs.upper_strict()))


@given(text=texts)
def test_what_was_read_is_written_back_as_edtf(text: str) -> None:
    assert str(PartialDate.parse(text)) == text


def test_a_year_alone_counts_from_its_first_of_january() -> None:
    assert PartialDate.parse("2021").earliest == date(2021, 1, 1)


@pytest.mark.parametrize(("text", "last"), [("2024-02", date(2024, 2, 29)), ("2023-02", date(2023, 2, 28))])
def test_february_ends_as_the_year_has_it(text: str, last: date) -> None:
    assert PartialDate.parse(text).latest == last


@pytest.mark.parametrize(
    "text", ["", "21", "6/19", "2021-13", "2021-00", "2021-02-30", "2021-3", "2021-03-09T10:00", "1899", "0000", "٢٠٢١"]
)
def test_what_is_no_date_of_a_label_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        PartialDate.parse(text)
