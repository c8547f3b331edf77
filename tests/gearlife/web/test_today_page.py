"""The page of the day, as it is read: what is said, to whom, and what ends it."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Advice, Role
from gearlife.models import Alert, Club, Item, Organisation
from gearlife.operations import alerts, holds
from gearlife.operations.sweep import sweep
from gearlife.web import registry
from tests.factories import (
    AT,
    DAY,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    TeamFactory,
    officer,
    person,
    put_on,
    stamp,
)
from tests.pages import links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]
CRACK = "shell: crack found"


@pytest.fixture
def club() -> Club:
    made = ClubFactory.create(name="Otter Bend", code="OB")
    sweep(organisation=made.organisation, at=AT - timedelta(hours=1))
    return made


def page(club: Club, role: Role = Role.OFFICER, asked: str = "", at: Any = None) -> Any:
    return sign_in(Client(), person(role, at=at or club)).get(f"/{asked}")


def stop(item: Item, reason: str = CRACK) -> None:
    holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(item.organisation))


def stopped(club: Club, number: int | None = 7, name: str = "Marsh", **facts: Any) -> Item:
    item = ItemFactory.create(club=club, **facts)
    put_on(item, PlayerFactory.create(club=club, jersey_number=number, family_name=name))
    stop(item)
    return item


def test_it_begins_with_a_sentence_and_names_player_item_and_reason(club: Club) -> None:
    item = stopped(club)
    stopped(club, 12, "Reed")
    answer = page(club)
    words = seen(answer)

    assert "Two helmets are on players who must not wear them." in words
    assert f"7 Marsh {item.serial} {item.model.name}, size M" in words
    assert f"Held since Oct. 14, 2026: {CRACK}" in words
    assert links(answer)["Told whom, when"].startswith("/gear/")
    assert b"<svg" in answer.content


def test_it_is_said_with_the_alerts_table_emptied(club: Club) -> None:
    item = stopped(club)
    Alert.objects.all().delete()

    assert item.serial in seen(page(club))
    assert "One helmet is on a player who must not wear it." in seen(page(club))


def test_the_act_that_ends_it_is_the_one_that_answers_its_advice(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    def ours(row: Any, actor: Actor) -> bool:
        return row["whereabouts"] == "player" and row["standing"] == "stopped" and actor.may_be(Role.OFFICER)

    ends = registry.ItemAct("Take it off", "gearlife:told", 1, ours, frozenset({Advice.REPLACE}))
    other = registry.ItemAct("Anything else", "gearlife:told", 2, ours)
    monkeypatch.setattr(registry, "_acts", [ends, other])
    stopped(club)

    assert "Take it off" in links(page(club))
    assert "Anything else" not in links(page(club))
    assert "Take it off" not in links(page(club, Role.AUDITOR, at=club.organisation))


def test_forty_of_one_cohort_are_one_line_that_opens_to_the_players(club: Club) -> None:
    for number in range(40):
        stopped(club, number, f"Player{number}x")
    answer = page(club)

    assert seen(answer).count(CRACK) == 1
    assert "40 helmets on players, for one reason" in seen(answer)
    assert answer.content.count(b"<details>") == 1
    assert all(f"{number} Player{number}x" in seen(answer) for number in range(40))


def test_forty_matters_of_one_meaning_are_one_line_with_a_link_to_the_list(club: Club) -> None:
    for number in range(40):
        stop(ItemFactory.create(club=club), f"shell: scratch {number}")
    client = sign_in(Client(), person(Role.OFFICER, at=club))
    answer = client.get("/")

    assert "40 helmets: held out of use , the longest since Oct. 14, 2026" in seen(answer)
    assert "scratch" not in seen(answer)
    listed = seen(client.get(links(answer)["Open the list"]))
    assert "40 matters, open" in listed
    assert all(f"scratch {number}" in listed for number in range(40))


def test_what_was_told_stays_in_sight_with_whom_when_and_by_whom(club: Club) -> None:
    item = stopped(club)
    by = stamp(officer(club))
    alerts.tell_of(item=item, note="comes on Friday", told_whom="the mother", told_at=None, stamp=by)
    words = seen(page(club))

    assert "Somebody was told of one helmet; it is not in hand yet." in words
    assert "must not wear" not in words
    assert "Told: the mother , Oct. 14, 2026, 11 a.m.; noted by person-" in words
    assert "comes on Friday" in words
    assert item.serial in words


def test_what_was_put_off_says_until_when_why_and_by_whom(club: Club) -> None:
    item = ItemFactory.create(club=club)
    stop(item)
    alert, until = Alert.objects.get(item=item), DAY + timedelta(days=2)
    alerts.put_off(alert=alert, until=until, reason="parts are on order", stamp=stamp(officer(club)))
    words = seen(page(club))

    assert "Put off until Oct. 16, 2026 by person-" in words
    assert ": parts are on order" in words
    assert "Nothing is recorded that needs a hand today." in words


def test_an_empty_day_says_so_and_what_comes_next(club: Club) -> None:
    for number in range(14):
        put_on(ItemFactory.create(club=club), PlayerFactory.create(club=club, jersey_number=number))
    words = seen(page(club))

    next_ = "Next: on Wednesday, Oct. 21, 2026, 14 helmets: weekly look falls due."
    assert f"Nothing is recorded that needs a hand today. {next_}" in words
    assert "Falls within seven days" in words


def test_a_club_with_nothing_says_so(club: Club) -> None:
    assert "Nothing is recorded that needs a hand today. No limit is running." in seen(page(club))


def test_a_sweep_that_is_too_old_is_said_at_the_top(club: Club) -> None:
    assert "swept whole" not in seen(page(club))
    club.organisation.sweeps.update(finished_at=AT - timedelta(hours=40))

    assert "The records were last swept whole 40 hours ago" in seen(page(club))


def test_a_coach_reads_of_the_own_team_and_changes_nothing(club: Club) -> None:
    team = TeamFactory.create(club=club)
    item = ItemFactory.create(club=club)
    put_on(item, PlayerFactory.create(club=club, team=team, jersey_number=4, family_name="Sedge"))
    stop(item)
    stopped(club, 7, "Marsh")
    answer = page(club, Role.COACH, at=team)

    assert "4 Sedge" in seen(answer)
    assert "Marsh" not in seen(answer)
    assert "Told whom, when" not in links(answer)


def test_an_auditor_reads_of_all_clubs_by_name_and_of_the_quiet_ones_in_one_sentence(club: Club) -> None:
    quiet = [ClubFactory.create(organisation=club.organisation, name=name) for name in ("Mill Race", "Elder Weir")]
    item = stopped(club)
    at = Organisation.objects.get(id=club.organisation_id)
    words = seen(page(club, Role.AUDITOR, at=at))

    assert "7 Marsh , Otter Bend" in words
    assert "Nothing is recorded that needs a hand of Elder Weir, Mill Race." in words
    chosen = seen(page(club, Role.AUDITOR, f"?club={quiet[0].code}", at=at))
    assert item.serial not in chosen
    assert page(club, Role.AUDITOR, "?club=NONE", at=at).status_code == 404


def test_each_club_has_its_own_day(club: Club) -> None:
    far = ClubFactory.create(organisation=club.organisation, timezone="Pacific/Kiritimati")  # there it is the 15th
    item = ItemFactory.create(club=far)
    put_on(item, PlayerFactory.create(club=far, jersey_number=3))
    new = holds.NewHold(item.id, CRACK, starts_on=DAY + timedelta(days=1), deferred=True)
    holds.hold(new=new, stamp=stamp(club.organisation))
    at = Organisation.objects.get(id=club.organisation_id)

    assert item.serial in seen(page(club, Role.ADMINISTRATOR, at=at))
    assert "must not wear it" in seen(page(club, Role.ADMINISTRATOR, at=at))


def test_parts_of_the_page_that_others_registered_are_shown(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    part = registry.Section("gearlife/print_button.html", 1, lambda actor, day: {"text": f"A part of {day}"})
    silent = registry.Section("gearlife/print_button.html", 2, lambda actor, day: None)
    monkeypatch.setattr(registry, "_sections", [part, silent])

    assert seen(page(club)).count("A part of 2026-10-14") == 1
    assert page(club).content.count(b"data-print") == 1


@pytest.mark.parametrize("count", [3, 60])
def test_the_number_of_queries_does_not_grow(club: Club, count: int, django_assert_max_num_queries: Any) -> None:
    for number in range(count):
        stopped(club, number)
        stop(ItemFactory.create(club=club))
    client = sign_in(Client(), person(Role.OFFICER, at=club))
    with django_assert_max_num_queries(43):
        assert client.get("/").status_code == 200


@pytest.mark.parametrize(("role", "leads"), [(Role.OFFICER, True), (Role.AUDITOR, False)])
def test_a_club_without_gear_is_told_to_begin_with_it(club: Club, role: Role, leads: bool) -> None:
    answer = page(club, role, at=club if role is Role.OFFICER else club.organisation)
    assert "No gear is recorded yet" in seen(answer)
    assert ("/gear/new/" in links(answer).values(), "Take in a file of it" in links(answer)) == (leads, leads)

    ItemFactory.create(club=club)
    assert "No gear is recorded yet" not in seen(page(club))
