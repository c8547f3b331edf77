"""On which days who lacks gear that protects is named, and when a season is over."""

from datetime import date

import pytest

from fitting.domain.first_contact import Contact, SeasonDays, contact_on, is_over

THIS = SeasonDays(date(2026, 8, 1), date(2026, 11, 20), date(2026, 8, 15))
BEFORE = SeasonDays(date(2025, 8, 1), date(2025, 11, 20))
SPRING = SeasonDays(date(2026, 4, 1), date(2026, 5, 31))


@pytest.mark.parametrize(
    ("day", "named"),
    [
        (date(2026, 7, 31), False),
        (date(2026, 8, 1), True),
        (date(2026, 8, 15), True),
        (date(2026, 11, 20), True),
        (date(2026, 11, 21), False),
    ],
)
def test_it_runs_from_two_weeks_before_the_first_contact_to_the_last_game(day: date, *, named: bool) -> None:
    assert (contact_on([BEFORE, THIS], day) is not None) is named


def test_without_a_day_of_its_own_the_first_contact_is_the_first_day() -> None:
    assert contact_on([SeasonDays(THIS.starts_on, THIS.ends_on)], date(2026, 7, 18)) == Contact(
        date(2026, 8, 1), since=date(2026, 2, 2)
    )


def test_what_was_handed_out_in_the_season_before_is_not_for_this_one() -> None:
    found = contact_on([THIS, SPRING, BEFORE], date(2026, 8, 10))
    assert found == Contact(date(2026, 8, 15), since=date(2026, 6, 1))


def test_gear_comes_back_between_the_last_game_and_the_next_first_day() -> None:
    days = [date(2025, 7, 1), date(2025, 11, 20), date(2025, 11, 21), date(2026, 7, 31), date(2026, 8, 1)]
    assert [is_over([BEFORE, THIS], day) for day in days] == [False, False, True, True, False]
