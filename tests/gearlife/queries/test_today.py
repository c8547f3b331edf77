"""What a day asks beside its stops: the rest by meaning, the limits of the week; to whom, and in how many queries."""

from datetime import timedelta
from typing import Any

import pytest

from gearlife.domain.today import cohorts
from gearlife.domain.vocabulary import Role
from gearlife.models import Alert, Organisation
from gearlife.operations import alerts, holds
from gearlife.operations.sweep import sweep
from tests.factories import (
    AT,
    DAY,
    LAST_GAME,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    TeamFactory,
    actor,
    officer,
    put_on,
    stamp,
)
from tests.gearlife.queries.asked_of_a_day import asked, stop, stopped, worn

pytestmark = pytest.mark.django_db


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
    with django_assert_max_num_queries(20):
        asked(by)
