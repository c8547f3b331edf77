"""What the concerns advise, say and give as reasons, with a season and without one."""

from datetime import date, timedelta

import pytest

from gearlife.domain.concerns import Reach
from gearlife.domain.vocabulary import (
    Advice,
    Effect,
    Severity,
    Whereabouts,
)
from gearlife.operations import holds, items
from tests.factories import (
    AT,
    DAY,
    LAST_GAME,
    ClubFactory,
    ItemFactory,
    add_rule,
    stamp,
)
from tests.gearlife.queries.gear_in_a_state import (
    AFTER_LAST_GAME,
    TWO_YEARS_BEFORE_THE_LAST_GAME,
    certified,
    helmet,
    hit,
    hits,
    missing,
    worn,
)

pytestmark = pytest.mark.django_db


# No season


def test_without_a_season_the_records_are_to_be_checked() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False))
    said = hit(item, "no_season")

    assert (said.advice, said.club_id, said.item_id) == (Advice.CHECK_RECORDS, item.club_id, None)


def test_a_season_that_has_ended_is_no_season() -> None:
    item = ItemFactory.create()

    assert not hits(item, "no_season", Reach.LEAD, LAST_GAME)
    assert hits(item, "no_season", Reach.LEAD, AFTER_LAST_GAME)


def test_without_a_season_the_horizon_is_today() -> None:
    item = certified(date(2024, 10, 15))(ClubFactory.create(in_season=False))

    assert not hits(item, "certification", Reach.SEASON)
    assert hits(item, "certification", Reach.SEASON, DAY + timedelta(days=1))


def test_out_of_season_the_horizon_is_the_last_game_of_the_next() -> None:
    item = certified(TWO_YEARS_BEFORE_THE_LAST_GAME)(ClubFactory.create())

    assert hits(item, "certification", Reach.SEASON, date(2026, 3, 1))


# Advice, words and reasons


def test_a_lapsed_certification_asks_for_reconditioning() -> None:
    said = hit(certified(date(2024, 10, 14))(ClubFactory.create()), "certification")

    assert (said.advice, said.effect, said.severity) == (Advice.RECONDITION, Effect.STOP, Severity.ACT)
    assert "lapsed on 2026-10-14" in said.because
    assert "24 months from the last certification" in said.because
    assert "NOCSAE ND001 6.1.1" in said.because


def test_a_lapsing_certification_is_planned_for() -> None:
    said = hit(certified(TWO_YEARS_BEFORE_THE_LAST_GAME)(ClubFactory.create()), "certification")

    assert (said.severity, said.falls_on) == (Severity.PLAN, LAST_GAME)


@pytest.mark.parametrize(
    ("made_on", "advice"),
    [("2016-05", Advice.RETIRE), ("2017-05", Advice.RECONDITION), ("2018-05", Advice.RECONDITION)],
)
def test_a_lapsed_helmet_is_to_be_retired_once_reconditioners_refuse_it(made_on: str, advice: Advice) -> None:
    assert hit(certified(date(2024, 10, 14), made_on)(ClubFactory.create()), "certification").advice is advice


def test_a_helmet_that_lapsed_before_its_limit_is_to_be_retired_once_the_limit_has_fallen_too() -> None:
    item = certified(date(2024, 10, 14), "2017-05")(ClubFactory.create())

    assert hit(item, "certification", Reach.NOW, LAST_GAME).advice is Advice.RECONDITION
    assert hit(item, "certification", Reach.NOW, AFTER_LAST_GAME).advice is Advice.RETIRE


def test_before_the_recertification_limit_the_word_is_now_or_never_again() -> None:
    said = hit(certified(date(2026, 2, 1), "2017-05")(ClubFactory.create()), "recertification_limit")

    assert (said.advice, said.falls_on) == (Advice.RECONDITION, AFTER_LAST_GAME)
    assert "now or never again" in said.because


def test_past_the_recertification_limit_it_says_until_when_it_is_certified() -> None:
    said = hit(certified(date(2026, 2, 1), "2016-05")(ClubFactory.create()), "recertification_limit")

    assert said.advice is Advice.REPLACE
    assert "cannot be recertified again, certified until 2028-01-31" in said.because


def test_the_recertification_limit_never_bars_issue() -> None:
    item = certified(date(2026, 2, 1), "2016-05")(ClubFactory.create())

    assert not hit(item, "recertification_limit").bars_issue
    assert not hit(item, "recertification_limit", Reach.SEASON).bars_issue


def test_an_age_limit_says_to_retire() -> None:
    said = hit(helmet(made_on="2010-10")(ClubFactory.create()), "age_limit")

    assert (said.advice, said.effect) == (Advice.RETIRE, Effect.STOP)


def test_an_age_limit_that_warns_earlier_does_not_hide_one_that_stops() -> None:
    club = ClubFactory.create()
    add_rule(club.organisation, amount=12, effect=Effect.WARN.value)
    said = hit(helmet(made_on="2010-10")(club), "age_limit", Reach.SEASON)

    assert said.effect is Effect.STOP


def test_an_unknown_date_asks_for_evidence_and_stops() -> None:
    said = hit(helmet(made_on="")(ClubFactory.create()), "made_on_unknown")

    assert (said.advice, said.effect) == (Advice.CHECK_RECORDS, Effect.STOP)


def test_a_worn_stopped_item_names_its_holds_and_clocks_and_since_when() -> None:
    club = ClubFactory.create()
    item = worn(certified(date(2024, 10, 1)))(club)
    holds.hold(new=holds.NewHold(item.id, "A loose rivet."), stamp=stamp(club.organisation))
    said = hit(item, "worn_stopped")

    assert (said.severity, said.advice, said.falls_on) == (Severity.STOP, Advice.REPLACE, date(2026, 10, 1))
    assert "A loose rivet." in said.because
    assert "certification has fallen on 2026-10-01" in said.because


def test_what_is_at_the_reconditioner_cannot_be_handed_out() -> None:
    item = helmet()(ClubFactory.create())
    items.take_back([item], at=AT, to=Whereabouts.RECONDITIONER)

    assert "at the reconditioner" in hit(item, "not_in_stock", Reach.SEASON).because


def test_a_return_in_the_evening_is_on_the_clubs_day() -> None:
    club = ClubFactory.create()
    evening = AT + timedelta(hours=10)  # 21 o'clock in Chicago, the next day by UTC
    item = items.found(item=missing(helmet())(club), stamp=stamp(club.organisation, evening))

    assert hit(item, "not_inspected_since_back", Reach.NOW).falls_on == DAY


def test_a_limit_that_falls_in_season_is_planned_for_and_stops_nothing() -> None:
    said = hit(certified(TWO_YEARS_BEFORE_THE_LAST_GAME)(ClubFactory.create()), "limit_in_season")

    assert (said.effect, said.severity, said.advice) == (Effect.WARN, Severity.PLAN, Advice.RECONDITION)
