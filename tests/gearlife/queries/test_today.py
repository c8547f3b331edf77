"""What a day asks: stops of the records themselves, the rest by meaning, the limits of the week."""

from datetime import timedelta
from typing import Any

import pytest

from fitting.models import Assignment
from gearlife.domain.access import Actor
from gearlife.domain.today import Answered, cohorts
from gearlife.domain.vocabulary import Advice, Role
from gearlife.models import Alert, Club, Item, Organisation
from gearlife.operations import alerts, holds, items
from gearlife.operations.sweep import sweep
from gearlife.queries.concerns import register, registered
from gearlife.queries.today import asked_today
from tests.factories import (
    AT,
    DAY,
    LAST_GAME,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    TeamFactory,
    actor,
    add_rule,
    noon,
    officer,
    put_on,
    stamp,
)
from tests.gearlife.failing_concerns import Silent

pytestmark = pytest.mark.django_db


def asked(by: Actor | Club, days: int = 0) -> Answered:
    """What the day says to an actor, or to an officer of a club."""
    who = officer(by) if isinstance(by, Club) else by
    day = DAY + timedelta(days=days)
    return asked_today(Item.objects.visible_to(who), Alert.objects.visible_to(who), day)


def stop(item: Item, reason: str = "shell: crack found") -> None:
    holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(item.organisation))


def worn(club: Club, number: int | None = 7, **facts: Any) -> Item:
    """An item on a player, with nothing against it."""
    item = ItemFactory.create(club=club, **facts)
    put_on(item, PlayerFactory.create(club=club, jersey_number=number, family_name="Marsh"))
    return item


def stopped(club: Club, number: int | None = 7, reason: str = "shell: crack found") -> Item:
    item = worn(club, number)
    stop(item, reason)
    return item


def looked_over(item: Item, days_ago: int) -> None:
    Item.objects.filter(id=item.id).update(last_look_at=AT - timedelta(days=days_ago))


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


def test_an_item_in_the_room_is_a_matter_and_no_stop() -> None:
    club = ClubFactory.create()
    stop(ItemFactory.create(club=club))
    answered = asked(club)

    assert answered.stops == []
    [matter] = answered.now
    assert (matter.kind, matter.count, matter.because) == ("hold", 1, f"Held since {DAY}: shell: crack found")


def test_forty_with_one_meaning_are_one_matter_though_their_words_differ() -> None:
    club = ClubFactory.create()
    first = ItemFactory.create(club=club)
    for number in range(40):
        stop(first if number == 0 else ItemFactory.create(club=club, model=first.model), f"shell: scratch {number}")
    [matter] = asked(club).now

    assert (matter.count, matter.kind, matter.because, matter.one) == (40, "hold", "", None)


def test_forty_stopped_at_once_are_one_line_and_five_are_five() -> None:
    club = ClubFactory.create()
    for number in range(40):
        stopped(club, number, "notice 12: the liner")
    for number in range(50, 55):
        stopped(club, number, f"crack {number}")
    lines = cohorts(asked(club).stops)

    assert sorted(len(line.stops) for line in lines) == [1, 1, 1, 1, 1, 40]


def test_overdue_looks_of_several_days_are_one_matter_with_the_longest() -> None:
    club = ClubFactory.create()
    for days in (0, 1, 1, 3):
        worn(club, days, stamp=stamp(club.organisation, AT - timedelta(days=8 + days)))
    sweep(organisation=club.organisation, at=AT)
    [matter] = asked(club).now

    assert (matter.kind, matter.count) == ("look", 4)
    assert matter.since == DAY - timedelta(days=4)


def test_what_falls_in_seven_days_is_told_by_day_and_what_falls_on_the_eighth_is_not() -> None:
    club = ClubFactory.create()
    worn(club, 1)
    worn(club, 2)
    week = asked(club).week

    assert [(due.code, due.count, due.falls_on) for due in week] == [("weekly_look", 2, DAY + timedelta(days=7))]
    assert asked(club, -1).week == []


def test_what_falls_today_and_no_sweep_has_told_stands_in_the_week() -> None:
    club = ClubFactory.create()
    worn(club)
    assert [due.falls_on for due in asked(club, 7).week] == [DAY + timedelta(days=7)]

    sweep(organisation=club.organisation, at=AT + timedelta(days=7))
    answered = asked(club, 7)
    assert ([due.code for due in answered.week], [matter.kind for matter in answered.now]) == ([], ["look"])


def test_a_repair_of_this_week_is_told_with_its_day() -> None:
    club = ClubFactory.create()
    item, on = ItemFactory.create(club=club), DAY + timedelta(days=6)
    new = holds.NewHold(item.id, "A loose rivet.", starts_on=on, deferred=True)
    holds.hold(new=new, stamp=stamp(club.organisation))
    [due] = asked(club).week

    assert (due.code, due.falls_on) == ("repair", on)
    assert due.one
    assert due.one.serial == item.serial


def test_what_was_put_off_says_until_when_why_and_by_whom() -> None:
    club = ClubFactory.create()
    by = officer(club)
    for _ in range(3):
        item = ItemFactory.create(club=club)
        stop(item)
        alert = Alert.objects.get(item=item)
        alerts.put_off(alert=alert, until=DAY + timedelta(days=2), reason="parts are on order", stamp=stamp(by))
    answered = asked(club)

    assert answered.now == []
    [matter] = answered.put_off
    assert matter.put_off
    assert (matter.count, matter.put_off.until, matter.put_off.reason) == (
        3,
        DAY + timedelta(days=2),
        "parts are on order",
    )
    assert matter.put_off.by.startswith("person-")
    assert [each.count for each in asked(club, 2).now] == [3]


def test_a_quiet_day_names_what_falls_next() -> None:
    club = ClubFactory.create()
    worn(club)
    answered = asked(club, -3)

    assert answered.is_quiet
    assert answered.next
    assert (answered.next.code, answered.next.falls_on) == ("weekly_look", DAY + timedelta(days=7))


def test_out_of_season_no_weekly_look_falls() -> None:
    club = ClubFactory.create()
    worn(club)
    after = (LAST_GAME - DAY).days + 5

    assert [due for due in asked(club, after).week if due.code == "weekly_look"] == []


def test_a_coach_is_told_of_the_own_team_alone() -> None:
    club = ClubFactory.create()
    mine, other = TeamFactory.create(club=club), TeamFactory.create(club=club)
    for team, number in ((mine, 1), (other, 2)):
        item = ItemFactory.create(club=club)
        put_on(item, PlayerFactory.create(club=club, team=team, jersey_number=number))
        stop(item)

    assert [each.number for each in asked(actor(Role.COACH, at=mine)).stops] == [1]
    assert sorted(each.number or 0 for each in asked(club).stops) == [1, 2]


def test_an_auditor_is_told_of_all_clubs_by_name_and_of_no_other_organisation() -> None:
    club = ClubFactory.create(name="Otter Bend")
    second = ClubFactory.create(organisation=club.organisation, name="Mill Race")
    stopped(club)
    stopped(second)
    stop(ItemFactory.create(club=second))
    stopped(ClubFactory.create(name="Elsewhere"))
    answered = asked(actor(Role.AUDITOR, at=Organisation.objects.get(id=club.organisation_id)))

    assert {each.gear.club for each in answered.stops} == {club.code, second.code}
    assert answered.clubs() == {club.code, second.code}
    assert [matter.club for matter in answered.now] == [second.code]


@pytest.mark.parametrize("count", [3, 60])
def test_the_number_of_queries_does_not_grow(count: int, django_assert_max_num_queries: Any) -> None:
    club = ClubFactory.create()
    for number in range(count):
        stopped(club, number)
        stop(ItemFactory.create(club=club))
    by = officer(club)
    with django_assert_max_num_queries(18):
        asked(by)
