"""Moving the demo club's days: seasons stay apart, dates stay as precise as they were."""

from datetime import date, timedelta

import pytest

from inspections.domain.shifting import Shift

BASE = date(2025, 10, 15)
# Every day of nine years, three leap days among them, before and after the base day.
TODAYS = [date(2024, 1, 1) + timedelta(days=number) for number in range(9 * 366)]
SHIFTS = [Shift.between(BASE, today) for today in TODAYS]


def test_no_two_seasons_ever_share_a_year() -> None:
    for shift in SHIFTS:
        years = [shift.year(year) for year in range(2000, 2031)]
        assert years == list(range(years[0], years[0] + 31))


def test_the_season_of_the_base_day_bears_the_year_in_which_it_begins() -> None:
    for shift in SHIFTS:
        assert shift.year(2025) == shift.day(date(2025, 8, 1)).year


def test_the_base_day_becomes_today() -> None:
    assert [shift.day(BASE) for shift in SHIFTS] == TODAYS


@pytest.mark.parametrize("text", ["", "2016", "2024-02", "2024-12", "2024-02-29", "2025-08-01"])
def test_a_date_is_as_precise_after_as_before(text: str) -> None:
    for shift in SHIFTS:
        assert [len(part) for part in shift.text(text).split("-")] == [len(part) for part in text.split("-")]


@pytest.mark.parametrize("text", ["", "2016", "2024-02", "2024-02-29"])
def test_on_the_base_day_nothing_moves(text: str) -> None:
    assert Shift.between(BASE, BASE).text(text) == text


@pytest.mark.parametrize(
    ("text", "moved"),
    [("2025-10-15", "2026-11-25"), ("2024-02-29", "2025-04-10"), ("2025-01", "2026-02"), ("2016", "2017"), ("", "")],
)
def test_a_day_moves_by_the_span_a_month_by_its_middle_and_a_year_with_its_season(text: str, moved: str) -> None:
    assert Shift.between(BASE, date(2026, 11, 25)).text(text) == moved


def test_full_days_keep_their_distance() -> None:
    for shift in SHIFTS:
        assert shift.day(date(2025, 12, 5)) - shift.day(date(2024, 8, 1)) == date(2025, 12, 5) - date(2024, 8, 1)
