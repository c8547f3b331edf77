"""Whole years since manufacture, against dateutil's relativedelta, and the marks between them."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package
from hypothesis import example, given
from hypothesis import strategies as some

from gearlife.domain.ages import NOT_YET_MADE, made_by, whole_years, year_marks
from gearlife.domain.seasons import add_months

made_days = some.dates(date(1900, 1, 1), date(2100, 12, 31))
asked_days = some.dates(date(2000, 1, 1), date(2100, 12, 31))
LEAP_DAY = date(2016, 2, 29)


@given(made=made_days, day=asked_days)
@example(made=LEAP_DAY, day=date(2017, 2, 28))
@example(made=LEAP_DAY, day=date(2020, 2, 28))
@example(made=date(2015, 2, 28), day=date(2016, 2, 29))
def test_years_are_those_of_dateutil(made: date, day: date) -> None:
    expected = relativedelta(day, made).years if made <= day else NOT_YET_MADE
    assert whole_years(made, day) == expected


@given(made=made_days, years=some.integers(0, 60))
@example(made=LEAP_DAY, years=1)
def test_an_item_is_so_old_from_the_day_on_which_a_limit_of_so_many_months_is_reached(made: date, years: int) -> None:
    reached = add_months(made, 12 * years)
    assert whole_years(made, reached) == years
    assert whole_years(made, reached - timedelta(days=1)) == years - 1


@given(day=asked_days, years=some.integers(0, 99))
@example(day=date(2017, 2, 28), years=1)
@example(day=date(2016, 2, 29), years=1)
def test_a_mark_is_the_last_day_of_manufacture_that_is_old_enough(day: date, years: int) -> None:
    mark = made_by(day, years)
    assert whole_years(mark, day) == years
    assert whole_years(mark + timedelta(days=1), day) == years - 1


@given(day=asked_days, made=made_days)
def test_the_marks_tell_the_years_of_any_day(day: date, made: date) -> None:
    marks = year_marks(day)
    first = next((number for number, mark in enumerate(marks) if made > mark), len(marks))
    assert first - 1 == whole_years(made, day)


@pytest.mark.parametrize(("day", "years"), [(date(2017, 2, 27), 0), (date(2017, 2, 28), 1), (date(2020, 2, 28), 3)])
def test_what_was_made_on_a_leap_day_is_a_year_older_on_the_last_of_february(day: date, years: int) -> None:
    assert whole_years(LEAP_DAY, day) == years
