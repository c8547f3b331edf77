"""Calendar arithmetic, against the W3C's published examples and dateutil."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.partial_dates import LAST_DAY
from gearlife.domain.seasons import (
    Season,
    add_days,
    add_months,
    after_season,
    after_seasons,
    in_season,
)

S2025 = Season(date(2025, 8, 16), date(2025, 12, 6), 2025)
S2026 = Season(date(2026, 8, 15), date(2026, 12, 5), 2026)
SEASONS = [S2026, S2025]

days = st.dates(date(1900, 1, 1), date(2300, 12, 31))


# W3C XML Schema Part 2, appendix E "Adding durations to dateTimes": its table of examples (E.1) and its note on
# the order of additions (E.2). What concerns hours is what they carry over into days.
@pytest.mark.parametrize(
    ("start", "months", "extra_days", "end"),
    [
        # 2000-01-12T12:13:14Z + P1Y3M5DT7H10M3.3S = 2001-04-17T19:23:17.3Z: the hours carry no day
        (date(2000, 1, 12), 15, 5, date(2001, 4, 17)),
        # 2000-01 + -P3M = 1999-10
        (date(2000, 1, 1), -3, 0, date(1999, 10, 1)),
        # 2000-01-12 + PT33H = 2000-01-13: thirty-three hours carry one day
        (date(2000, 1, 12), 0, 33 // 24, date(2000, 1, 13)),
        # E.2: (2000-03-30 + P1M) + P1D = 2000-05-01
        (date(2000, 3, 30), 1, 1, date(2000, 5, 1)),
    ],
)
def test_durations_add_as_the_examples_of_xml_schema_say(start: date, months: int, extra_days: int, end: date) -> None:
    assert add_days(add_months(start, months), extra_days) == end


def test_days_before_months_give_the_other_published_answer() -> None:
    # XML Schema Part 2, E.2: (2000-03-30 + P1D) + P1M = 2000-04-30
    assert add_months(add_days(date(2000, 3, 30), 1), 1) == date(2000, 4, 30)


@given(day=days, months=st.integers(-1200, 1200))
def test_months_add_as_dateutil_adds_them(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


@given(day=days, count=st.integers(-5000, 100_000))
def test_days_add_as_timedelta_adds_them(day: date, count: int) -> None:
    assert add_days(day, count) == day + timedelta(days=count)


@pytest.mark.parametrize(("months", "end"), [(12, date(2025, 2, 28)), (48, date(2028, 2, 29))])
def test_a_leap_day_becomes_the_last_of_february_where_there_is_none(months: int, end: date) -> None:
    assert add_months(date(2024, 2, 29), months) == end


def test_a_count_beyond_the_calendar_ends_on_its_last_day() -> None:
    assert add_months(date(2026, 1, 1), 32_767 * 12) == LAST_DAY
    assert add_days(date(2026, 1, 1), 10_000_000) == LAST_DAY
    assert after_season([], 40_000) == LAST_DAY


def test_a_season_year_is_over_on_the_day_after_its_last_game() -> None:
    assert after_season(SEASONS, 2025) == date(2025, 12, 7)


def test_a_season_year_without_a_season_is_over_on_new_years_day() -> None:
    assert after_season(SEASONS, 2030) == date(2031, 1, 1)


def test_seasons_are_counted_from_the_one_that_the_anchor_lies_in() -> None:
    assert after_seasons(SEASONS, date(2025, 9, 1), 1) == date(2025, 12, 7)
    assert after_seasons(SEASONS, date(2025, 9, 1), 2) == date(2026, 12, 6)


@pytest.mark.parametrize(
    ("seasons", "anchor", "count", "fall"),
    [
        (SEASONS, date(2026, 9, 1), 2, date(2028, 1, 1)),
        (SEASONS, date(2026, 12, 20), 1, date(2028, 1, 1)),
        ([], date(2026, 3, 1), 3, date(2029, 1, 1)),
    ],
    ids=["the second is not entered", "this year's is over", "none is entered"],
)
def test_seasons_that_were_not_entered_are_over_at_the_turn_of_the_year(
    seasons: list[Season], anchor: date, count: int, fall: date
) -> None:
    # by the house rule for season years: without a season, 1 January
    assert after_seasons(seasons, anchor, count) == fall


def test_days_in_season_count_from_the_anchor_inside_a_season() -> None:
    assert in_season(SEASONS, date(2026, 10, 1), 7) == date(2026, 10, 8)


def test_days_in_season_count_from_its_first_day_when_the_anchor_is_older() -> None:
    assert in_season(SEASONS, date(2026, 2, 1), 7) == date(2026, 8, 22)


def test_days_in_season_that_the_season_no_longer_has_move_to_the_next() -> None:
    assert in_season(SEASONS, date(2025, 12, 3), 7) == date(2026, 8, 22)


def test_days_in_season_never_fall_without_a_season() -> None:
    assert in_season([], date(2026, 10, 1), 7) is None
