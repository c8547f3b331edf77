"""The sheet of a game morning: who must not dress, repairs, spares by model and size, for one team."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from gearlife.domain.game_morning import spares_of
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Alert, Club, Item, Team
from gearlife.operations import alerts, holds
from tests.factories import (
    AT,
    DAY,
    ClubFactory,
    ItemFactory,
    ModelFactory,
    PlayerFactory,
    TeamFactory,
    officer,
    pads,
    person,
    put_on,
    stamp,
)
from tests.pages import seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def club() -> Club:
    return ClubFactory.create(name="Otter Bend")


@pytest.fixture
def team(club: Club) -> Team:
    return TeamFactory.create(club=club, name="Herons")


def sheet(at: Club | Team, role: Role = Role.OFFICER, asked: str = "") -> Any:
    return sign_in(Client(), person(role, at=at)).get(f"/game-morning/{asked}")


def worn(team: Team, number: int, name: str) -> Item:
    item = ItemFactory.create(club=team.club)
    put_on(item, PlayerFactory.create(club=team.club, team=team, jersey_number=number, family_name=name))
    return item


def stop(item: Item, reason: str = "shell: crack found", **facts: Any) -> None:
    holds.hold(new=holds.NewHold(item.id, reason, **facts), stamp=stamp(item.organisation))


def looked_over_since_back(*items: Item) -> None:
    Item.objects.filter(id__in=[item.id for item in items]).update(last_full_inspection_at=AT)


def test_it_names_team_day_and_the_moment_of_asking(team: Team) -> None:
    words = seen(sheet(team.club))

    assert (
        "Herons, Otter Bend, Oct. 14, 2026. What follows is as the records stood on Oct. 14, 2026, 11 a.m., by" in words
    )
    assert "certify nothing and declare nothing safe" in words


def test_who_must_not_dress_stands_with_number_item_and_reason_though_no_alert_was_written(team: Team) -> None:
    item = worn(team, 44, "Sedge")
    stop(item)
    Alert.objects.all().delete()
    words = seen(sheet(team, Role.COACH))

    said = f"44 Sedge : helmet {item.serial} {item.model.name}, size M Held since Oct. 14, 2026: shell: crack found"
    assert said in words


def test_whom_one_told_stands_beside_it(team: Team) -> None:
    item = worn(team, 44, "Sedge")
    stop(item)
    by = stamp(officer(team.club))
    alerts.tell_of(item=item, note="", told_whom="the mother", told_at=None, stamp=by)

    assert "Told: the mother, Oct. 14, 2026, 11 a.m." in seen(sheet(team, Role.COACH))


def test_a_repair_stands_with_its_day_until_it_stops(team: Team) -> None:
    item = worn(team, 12, "Reed")
    stop(item, "jaw pad: worn", starts_on=DAY + timedelta(days=4), deferred=True)
    words = seen(sheet(team, Role.COACH))

    assert "jaw pad: worn To be done by Oct. 18, 2026; from that day on it must not be worn." in words
    assert "Must not be worn since" not in words


def test_spares_are_counted_by_model_and_size_and_never_across_models(team: Team) -> None:
    dome = ModelFactory.create(manufacturer__organisation=team.organisation, name="Dome A")
    other = ModelFactory.create(manufacturer=dome.manufacturer, name="Dome B")
    for model, size in ((dome, "L"), (dome, "S"), (dome, "L"), (other, "L")):
        looked_over_since_back(ItemFactory.create(club=team.club, model=model, size=size))
    stop(ItemFactory.create(club=team.club, model=dome, size="XL"))
    ItemFactory.create(club=team.club, model=dome, size="M", made_for_one_player=True)
    looked_over_since_back(pads(team.club, size="M"))
    words = seen(sheet(team, Role.COACH))

    assert f"{dome.manufacturer.name} Dome A, helmet S: 1 L: 2 3" in words
    assert f"{dome.manufacturer.name} Dome B, helmet L: 1 1" in words
    assert ", shoulder pads M: 1 1" in words
    assert "XL:" not in words


def test_sizes_stand_in_the_models_own_order() -> None:
    sizes: tuple[str, ...] = ("YL", "S", "M")
    counted = {(Kind.HELMET, "Oak", "Dome", size, sizes): n for n, size in enumerate(("M", "YL", "odd", "S"), 1)}

    assert [spare.sizes for spare in spares_of(counted)] == [(("YL", 2), ("S", 4), ("M", 1), ("odd", 3))]
    assert spares_of(counted)[0].count == 10


def test_a_team_with_nothing_is_told_so_without_being_told_that_gear_is_good(team: Team) -> None:
    words = seen(sheet(team, Role.COACH))

    assert "No player of the team has anything with a recorded reason to stop. Look at the gear all the same." in words
    assert "No repair is open on what the team wears." in words
    assert "No spare may be handed out now." in words


def test_a_coach_opens_the_own_team_alone(team: Team) -> None:
    other = TeamFactory.create(club=team.club)
    stop(worn(other, 7, "Marsh"))

    assert "Marsh" not in seen(sheet(team, Role.COACH))
    assert sheet(team, Role.COACH, f"?team={other.id}").status_code == 404
    assert "Marsh" in seen(sheet(team.club, Role.OFFICER, f"?team={other.id}"))


def test_a_team_of_another_organisation_and_none_are_not_there(team: Team) -> None:
    foreign = TeamFactory.create()
    assert [sheet(team.club, asked=f"?team={asked}").status_code for asked in (foreign.id, "x")] == [404, 404]


def test_a_club_without_teams_says_what_to_do(club: Club) -> None:
    assert "No team is entered yet." in seen(sheet(club))


@pytest.mark.parametrize("count", [3, 60])
def test_the_number_of_queries_does_not_grow(team: Team, count: int, django_assert_max_num_queries: Any) -> None:
    for number in range(count):
        stop(worn(team, number, "Sedge"))
        stop(worn(team, number, "Reed"), "jaw pad", starts_on=DAY + timedelta(days=3), deferred=True)
        looked_over_since_back(ItemFactory.create(club=team.club))
    client = sign_in(Client(), person(Role.COACH, at=team))
    with django_assert_max_num_queries(44):
        assert client.get("/game-morning/").status_code == 200
