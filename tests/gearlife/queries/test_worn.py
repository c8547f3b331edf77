"""What a player has and must not wear is asked of the records, whatever the alerts say."""

from datetime import timedelta

import pytest

from fitting.models import Assignment
from gearlife.domain.vocabulary import Advice
from gearlife.models import Alert, Item
from gearlife.operations import alerts, items
from gearlife.queries.concerns import register, registered
from tests.factories import (
    AT,
    DAY,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    add_rule,
    noon,
    officer,
    put_on,
    stamp,
)
from tests.gearlife.failing_concerns import Silent
from tests.gearlife.queries.asked_of_a_day import asked, stop, stopped, worn

pytestmark = pytest.mark.django_db


def test_a_stopped_worn_helmet_is_named_with_its_player_and_why() -> None:
    club = ClubFactory.create()
    item = stopped(club)
    [told] = asked(club).stops

    assert (told.gear.id, told.gear.serial, told.gear.size) == (item.id, item.serial, "M")
    assert (told.number, told.player, told.since, told.advice) == (7, "7 Marsh", DAY, Advice.REPLACE)
    assert told.because == (f"Held since {DAY}: shell: crack found",)
    assert told.told is None


def test_it_is_told_without_any_alert() -> None:
    club = ClubFactory.create()
    item = stopped(club)
    Alert.objects.all().delete()

    assert [each.gear.id for each in asked(club).stops] == [item.id]


def test_what_time_alone_has_stopped_is_told_before_any_sweep() -> None:
    club = ClubFactory.create()
    item = worn(club, made_on="2024-11")  # a maker's 24 months run from the last day that it may have been made on
    Assignment.objects.update(could_not_be_issued=False)  # as if it had been handed out a season ago
    lapses = max(clock.falls_on for clock in item.clocks.filter(code="certification"))
    before, after = (lapses - DAY).days - 1, (lapses - DAY).days
    assert not asked(club, before).stops
    [told] = asked(club, after).stops

    assert told.since == lapses
    assert f"The certification lapsed on {lapses}" in told.because[0]


def test_a_stop_by_a_rule_that_no_clock_has_been_reckoned_by_yet_is_told() -> None:
    club = ClubFactory.create()
    item = worn(club)
    add_rule(club.organisation, amount=6)
    item.clocks.all().delete()
    Item.objects.update(clocks_revision=0)

    assert [each.gear.id for each in asked(club).stops] == [item.id]


def test_what_could_not_have_been_issued_is_told_though_its_own_row_says_no_stop() -> None:
    club = ClubFactory.create()
    item = ItemFactory.create(club=club, made_for_one_player=True)
    put_on(item, at=noon(DAY - timedelta(days=30)))
    other = PlayerFactory.create(club=club)
    put_on(item, other)
    Alert.objects.all().delete()
    [told] = asked(club).stops

    assert told.player_id == other.id
    assert "could not have been issued" in " ".join(told.because)


def test_a_question_that_fails_is_named_and_the_records_still_say_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    club = ClubFactory.create()
    item = stopped(club)
    known = registered()
    monkeypatch.setattr("gearlife.queries.concerns.registry._concerns", list(known))
    silent = Silent()
    silent.kind = "worn_stopped"
    register(silent)
    answered = asked(club)

    assert answered.failed == {"worn_stopped"}
    assert [each.gear.id for each in answered.stops] == [item.id]
    assert not answered.is_quiet


def tell(item: Item) -> None:
    by = stamp(officer(item.club))
    alerts.tell_of(item=item, note="by phone", told_whom="the mother", told_at=None, stamp=by)


def test_a_stop_of_which_somebody_was_told_stays_in_sight_with_whom_and_when() -> None:
    club = ClubFactory.create()
    tell(stopped(club))
    answered = asked(club)

    assert answered.untold == []
    [row] = answered.told
    assert row.told
    assert (row.told.whom, row.told.at, row.told.note) == ("the mother", AT, "by phone")


def test_another_reason_is_news_of_which_nobody_was_told() -> None:
    club = ClubFactory.create()
    item = stopped(club)
    tell(item)
    stop(item, "faceguard: weld broken")
    Alert.objects.filter(acknowledged_at__isnull=True).delete()
    Alert.objects.filter(item=item, severity="stop").update(closed_at=None)  # as before the records were asked again

    [row] = asked(club).untold
    assert len(row.because) == 1
    assert "weld broken" in row.because[0]


def test_what_is_missing_and_must_not_be_worn_names_who_had_it_last() -> None:
    club = ClubFactory.create()
    item = stopped(club)
    items.mark_missing(item=item, stamp=stamp(club.organisation))
    [told] = asked(club).stops

    assert (told.missing, told.player, told.number) == (True, "7 Marsh", 7)
    assert "ask for it, and have it in hand" in " ".join(told.because)
