"""Days as people and spreadsheets write them."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.intake.days import read_day


@pytest.mark.parametrize(
    ("written", "day"),
    [
        *(("2021", "2021"), ("2021-03", "2021-03"), ("2021-03-09", "2021-03-09")),
        *(("13/4/2021", "2021-04-13"), ("4/13/2021", "2021-04-13"), ("4/4/2021", "2021-04-04")),
        *(
            ("04/13/21", "2021-04-13"),
            ("13-4-2021", "2021-04-13"),
            ("2021/4/3", "2021-04-03"),
            ("2021-4-3", "2021-04-03"),
        ),
        *(
            ("19.04.2021", "2021-04-19"),
            ("3.4.2021", "2021-04-03"),
            ("31.12.21", "2021-12-31"),
            ("4.19.2021", "2021-04-19"),
        ),
        *(("06/2019", "2019-06"), ("6-2019", "2019-06"), ("Jun 2019", "2019-06"), ("June-2019", "2019-06")),
        *(("19-Jun-2019", "2019-06-19"), ("19. June 2019", "2019-06-19"), ("Sept 3, 2019", "2019-09-03")),
        *(("2021-03-09 00:00:00", "2021-03-09"), ("2021-03-09T12:30", "2021-03-09"), ("4/13/2021 0:00", "2021-04-13")),
        ("4/13/2021 12:00:00 AM", "2021-04-13"),
    ],
)
def test_a_day_that_can_be_one_alone_is_read(written: str, day: str) -> None:
    assert str(read_day(written)) == day


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("3/4/2021", "this could be 2021-03-04 or 2021-04-03"),
        ("3-4-2021", "this could be 2021-03-04 or 2021-04-03"),
        ("03/04/21", "this could be 2021-03-04 or 2021-04-03"),
        ("3/4/2021 0:00", "this could be 2021-03-04 or 2021-04-03"),
        ("6/19", "if this is month and year, write 2019-06"),
        ("19-Jun", "a day of a month, or month and year: then write 2019-06"),
        ("Jun-19", "a day of a month, or month and year: then write 2019-06"),
        ("Mar-21", "a day of a month, or month and year: then write 2021-03"),
        *(("13/13/2021", "there is no such day"), ("31.02.2021", "there is no such day")),
        *(
            ("2021-13", "there is no such day"),
            ("2021-00", "there is no such day"),
            ("2023-02-29", "there is no such day"),
        ),
        *(("13/2019", "there is no such day"), ("30-Feb-2021", "there is no such day"), ("1066", "before 1900")),
        *(
            ("21", "write a year"),
            ("Sometime 2021", "write a year"),
            ("19-Xyz", "write a year"),
            ("3/4-2021", "write a year"),
        ),
        ("soon", "write a year, a month or a day as 2021, 2021-03 or 2021-03-09"),
    ],
)
def test_what_could_be_two_days_or_is_none_says_what_to_write(written: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_day(written)


# The 1900 system (ECMA-376, 18.17.4.1): Microsoft's page on the function DATE says that 39448 is 1 January 2008.
@pytest.mark.parametrize(("number", "day"), [("44197", "2021-01-01"), ("39448", "2008-01-01"), ("36526", "2000-01-01")])
def test_a_spreadsheets_number_of_a_day_is_refused_with_the_day_that_it_would_be(number: str, day: str) -> None:
    with pytest.raises(ValueError, match=f"a spreadsheet's number of a day: {day}"):
        read_day(number)


@given(day=st.dates(date(1955, 1, 1), date(2118, 1, 1)))
def test_the_number_of_any_day_is_the_one_of_openpyxl(day: date) -> None:
    from openpyxl.utils.datetime import to_excel

    with pytest.raises(ValueError, match=day.isoformat()):
        read_day(str(int(to_excel(day))))


@given(day=st.dates(date(1900, 1, 1), date(2100, 1, 1)))
def test_no_way_of_writing_a_day_makes_another_day_of_it(day: date) -> None:
    for written in (f"{day.month}/{day.day}/{day.year}", f"{day.day}/{day.month}/{day.year}"):
        assert day.isoformat() in read_or_refusal(written)
    assert str(read_day(f"{day:%d.%m.%Y}")) == day.isoformat()


def read_or_refusal(written: str) -> str:
    """The day, or the words of the refusal, which name it among others."""
    try:
        return str(read_day(written))
    except ValueError as error:
        return str(error)
