"""Bulk: entry by entry, in order, and no entry spoils another."""

import pytest

from gearlife.api.bulk import MOST_ENTRIES
from gearlife.domain.ids import uuid7
from gearlife.models import Team
from tests.gearlife.api.base_probe import World, pointers

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gearlife.api.base_probe")]


@pytest.fixture
def world() -> World:
    return World()


def test_every_entry_is_answered_in_order_and_a_bad_one_spoils_no_other(world: World) -> None:
    named = str(uuid7())
    entries = [
        world.body(name="Swifts"),
        world.body(name="refused"),
        {**world.body(name="Terns"), "id": named},
        world.body(name="broken"),
        world.body(name="n" * 21),
        "no entry",
        {**world.body(), "id": "5"},
        {**world.body(), "id": str(world.team.id)},
        world.body(name="Wrens"),
    ]
    answer = world.officer("POST", "probes/bulk/", {"entries": entries})

    results = answer.json()["results"]
    assert answer.status_code == 200
    assert [result["status"] for result in results] == [201, 409, 201, 500, 400, 400, 400, 409, 201]
    assert [result["body"]["name"] for result in results if "body" in result] == ["Swifts", "Terns", "Wrens"]
    assert results[2]["id"] == named
    assert results[4]["problem"]["errors"][0]["pointer"] == "/entries/4/name"
    assert results[6]["problem"]["errors"][0]["pointer"] == "/entries/6/id"
    assert set(Team.objects.filter(club=world.club).values_list("name", flat=True)) == {
        *("Herons", "Swifts", "Terns", "Wrens"),
    }


def test_the_same_bulk_again_changes_nothing(world: World) -> None:
    body = {"entries": [{**world.body(), "id": str(uuid7())} for _ in range(3)]}
    first = world.officer("POST", "probes/bulk/", body).json()["results"]
    again = world.officer("POST", "probes/bulk/", body).json()["results"]

    assert [result["status"] for result in again] == [200, 200, 200]
    assert [result["body"] for result in again] == [result["body"] for result in first]


def test_an_entry_of_a_bulk_and_a_put_of_the_same_body_are_one_creation(world: World) -> None:
    id_, body = str(uuid7()), world.body()
    world.officer("POST", "probes/bulk/", {"entries": [{**body, "id": id_}]})

    assert world.officer("PUT", f"probes/{id_}/", body).status_code == 200


def test_an_id_that_comes_twice_in_one_bulk_is_made_once(world: World) -> None:
    id_ = str(uuid7())
    entries = [{**world.body(name=name), "id": id_} for name in ("Swifts", "Swifts", "Terns")]
    results = world.officer("POST", "probes/bulk/", {"entries": entries}).json()["results"]

    assert [result["status"] for result in results] == [201, 200, 409]


@pytest.mark.parametrize("entries", [None, [], {}, "x", [{}] * (MOST_ENTRIES + 1)])
def test_entries_that_are_no_list_of_1_to_500_are_refused_whole(world: World, entries: object) -> None:
    answer = world.officer("POST", "probes/bulk/", {"entries": entries, "more": 1})

    assert (answer.status_code, pointers(answer)) == (400, {"/entries", "/more"})


def test_five_hundred_entries_are_taken(world: World) -> None:
    answer = world.officer("POST", "probes/bulk/", {"entries": [world.body() for _ in range(MOST_ENTRIES)]})

    assert {result["status"] for result in answer.json()["results"]} == {201}


def test_a_bulk_needs_the_role_that_a_creation_needs(world: World) -> None:
    assert world.coach("POST", "probes/bulk/", {"entries": [world.body()]}).status_code == 403


def test_a_bulk_sent_again_under_its_key_makes_nothing_twice(world: World) -> None:
    key = str(uuid7())
    body = {"entries": [world.body(name="Swifts"), world.body(name="Terns")]}
    first, again = (world.officer("POST", "probes/bulk/", body, Idempotency_Key=key).json()["results"] for _ in "12")

    assert [result["status"] for result in first] == [201, 201]
    assert [(result["status"], result["id"]) for result in again] == [(200, result["id"]) for result in first]


def test_another_entry_in_the_place_of_the_first_is_refused_under_the_same_key(world: World) -> None:
    key = str(uuid7())
    for name, status in (("Swifts", 201), ("Terns", 409)):
        answer = world.officer("POST", "probes/bulk/", {"entries": [world.body(name=name)]}, Idempotency_Key=key)
        assert [result["status"] for result in answer.json()["results"]] == [status]
