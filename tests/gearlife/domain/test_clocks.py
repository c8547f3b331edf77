"""Clocks: what is counted, from where, and when it falls."""

from datetime import date

import pytest

from gearlife.domain.clocks import clocks_of
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Whereabouts
from tests.factories import DAY, rule
from tests.gearlife.domain.clock_facts import (
    S2011,
    S2012,
    S2026,
    S2027,
    age_limit,
    facts,
    falls,
    recertification_limit,
    weekly_look,
)

# What is counted, and from where


def test_months_count_from_the_anchor() -> None:
    assert falls(age_limit) == date(2040, 3, 5)


def test_the_day_on_which_the_amount_is_passed_is_one_later_than_that_on_which_it_is_reached() -> None:
    passed = rule(code="age_limit", anchor=Anchor.MADE, amount=192, comparator=Comparator.PASSED)

    assert falls(passed) == date(2040, 3, 6)


def test_a_leap_day_is_reached_on_the_last_of_february() -> None:
    made = facts(anchors={Anchor.MADE: date(2024, 2, 29)})

    assert falls(rule(anchor=Anchor.MADE, amount=12), made) == date(2025, 2, 28)


def test_days_count_from_the_anchor() -> None:
    looked = facts(anchors={Anchor.LOOK: date(2026, 10, 1)})

    assert falls(rule(anchor=Anchor.LOOK, counts=Counts.DAYS, amount=7), looked) == date(2026, 10, 8)


def test_days_that_must_be_passed_fall_one_later() -> None:
    looked = facts(anchors={Anchor.LOOK: date(2026, 10, 1)})
    passed = rule(anchor=Anchor.LOOK, counts=Counts.DAYS, amount=7, comparator=Comparator.PASSED)

    assert falls(passed, looked) == date(2026, 10, 9)


@pytest.mark.parametrize(
    ("comparator", "fall"), [(Comparator.REACHED, date(2026, 12, 6)), (Comparator.PASSED, date(2027, 12, 5))]
)
def test_seasons_are_over_on_the_day_after_the_last_game(comparator: Comparator, fall: date) -> None:
    refitted = facts(anchors={Anchor.REFIT: date(2026, 9, 1)})
    one = rule(anchor=Anchor.REFIT, counts=Counts.SEASONS, amount=1, comparator=comparator)

    assert falls(one, refitted, [S2026, S2027]) == fall


def test_a_count_of_seasons_that_were_not_entered_falls_at_the_turn_of_the_year() -> None:
    refitted = facts(anchors={Anchor.REFIT: date(2026, 9, 1)})

    assert falls(rule(anchor=Anchor.REFIT, counts=Counts.SEASONS, amount=3), refitted, [S2026]) == date(2029, 1, 1)


def test_a_year_and_month_alone_count_from_their_first_day() -> None:
    made = facts(anchors={Anchor.MADE: date(2024, 1, 1)})

    assert falls(rule(anchor=Anchor.MADE, amount=120), made) == date(2034, 1, 1)


def test_time_in_storage_counts() -> None:
    used = facts(whereabouts=Whereabouts.PLAYER, taken_in_on=date(2024, 4, 1))
    stored = facts(whereabouts=Whereabouts.STOCK, taken_in_on=date(2026, 9, 1))

    assert falls(age_limit, used) == falls(age_limit, stored)
    assert falls(rule(), used) == falls(rule(), stored)


# NAERA, release of 9 March 2011: at the end of the 2011 season, helmets dated 2002 or older are refused; as arithmetic,
# upcoming season year less year of manufacture is ten or more.


@pytest.mark.parametrize(("made", "refused"), [(2001, True), (2002, True), (2003, False)])
def test_at_the_end_of_the_season_of_2011_helmets_dated_2002_or_older_are_refused(made: int, refused: bool) -> None:
    helmet = facts(anchors={Anchor.MADE: date(made, 12, 31)})
    fall = falls(recertification_limit, helmet, [S2011, S2012])

    assert fall is not None
    assert (fall <= date(2011, 12, 4)) == refused
    assert (2012 - made >= 10) == refused


def test_a_helmet_dated_2002_is_still_taken_on_the_day_of_the_last_game() -> None:
    assert falls(recertification_limit, facts(anchors={Anchor.MADE: date(2002, 1, 1)}), [S2011]) == date(2011, 12, 4)


def test_without_a_season_the_recertification_limit_falls_on_new_years_day() -> None:
    assert falls(recertification_limit, facts(anchors={Anchor.MADE: date(2002, 6, 1)})) == date(2012, 1, 1)


def test_a_club_may_read_the_limit_as_more_than_ten() -> None:
    # NOCSAE's questions and answers say "not more than ten years": then 2002 is still taken for 2012
    more_than_ten = rule(
        code="recertification_limit",
        anchor=Anchor.MADE,
        counts=Counts.SEASON_YEARS,
        amount=10,
        comparator=Comparator.PASSED,
    )

    assert falls(more_than_ten, facts(anchors={Anchor.MADE: date(2002, 6, 1)}), [S2011, S2012]) == date(2012, 12, 2)


# The maker's interval


def test_the_makers_interval_counts_where_the_rule_names_none() -> None:
    stated = facts(anchors={Anchor.CERTIFIED: date(2026, 2, 1)}, stated_interval_months=24)

    assert falls(rule(amount=None), stated) == date(2028, 2, 1)


def test_an_interval_that_is_not_stated_is_twelve_months() -> None:
    # NOCSAE ND001 6.1.1: the manufacturer states the interval; its association recommends every year unless it does
    [clock] = clocks_of(facts(anchors={Anchor.MADE: DAY, Anchor.CERTIFIED: date(2026, 2, 1)}), [rule(amount=None)], [])

    assert (clock.amount, clock.falls_on) == (12, date(2027, 2, 1))


def test_what_was_never_recertified_counts_from_the_earliest_day_made() -> None:
    [clock] = clocks_of(facts(), [rule()], [])

    assert (clock.anchor_on, clock.falls_on) == (date(2024, 3, 5), date(2025, 3, 5))


# Rounds


@pytest.mark.parametrize("anchor", [Anchor.LOOK, Anchor.FULL_INSPECTION, Anchor.AIR_CHECK])
def test_a_round_first_falls_due_some_days_after_the_intake(anchor: Anchor) -> None:
    assert falls(rule(anchor=anchor, counts=Counts.DAYS, amount=7)) == date(2026, 9, 8)


@pytest.mark.parametrize("anchor", [Anchor.LOOK, Anchor.FULL_INSPECTION, Anchor.AIR_CHECK])
def test_a_round_from_before_the_intake_counts_from_the_intake(anchor: Anchor) -> None:
    seen = facts(anchors={anchor: date(2025, 9, 1)})

    assert falls(rule(anchor=anchor, counts=Counts.DAYS, amount=7), seen) == date(2026, 9, 8)


def test_a_later_round_counts_from_itself() -> None:
    seen = facts(anchors={Anchor.LOOK: date(2026, 10, 10)})

    assert falls(rule(anchor=Anchor.LOOK, counts=Counts.DAYS, amount=7), seen) == date(2026, 10, 17)


@pytest.mark.parametrize("anchor", [Anchor.REFIT, Anchor.CAME_BACK])
def test_what_never_happened_starts_no_clock(anchor: Anchor) -> None:
    assert falls(rule(anchor=anchor, counts=Counts.DAYS, amount=7)) is None


@pytest.mark.parametrize("anchor", [Anchor.REFIT, Anchor.CAME_BACK])
def test_a_refit_or_return_counts_from_its_day(anchor: Anchor) -> None:
    happened = facts(anchors={anchor: date(2026, 9, 20)})

    assert falls(rule(anchor=anchor, counts=Counts.DAYS, amount=7), happened) == date(2026, 9, 27)


def test_a_weekly_look_in_season_falls_seven_days_after_the_last() -> None:
    assert falls(weekly_look, facts(anchors={Anchor.LOOK: date(2026, 10, 8)}), [S2026, S2027]) == date(2026, 10, 15)


def test_a_weekly_look_out_of_season_waits_for_the_next_season() -> None:
    looked = facts(anchors={Anchor.LOOK: date(2026, 12, 4)})

    assert falls(weekly_look, looked, [S2026, S2027]) == date(2027, 8, 21)


def test_a_weekly_look_rests_when_no_season_was_entered() -> None:
    assert falls(weekly_look, facts(anchors={Anchor.LOOK: date(2026, 10, 8)})) is None


def test_a_rule_for_gear_on_players_says_nothing_of_gear_in_the_room() -> None:
    worn_only = rule(anchor=Anchor.LOOK, counts=Counts.DAYS, amount=7, whereabouts=frozenset({Whereabouts.PLAYER}))

    assert falls(worn_only) is None
    assert falls(worn_only, facts(whereabouts=Whereabouts.PLAYER)) == date(2026, 9, 8)
