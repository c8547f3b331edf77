"""Lists: cursor pages with Link, strict filters, and nothing that grows with the rows."""

import base64
import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.ids import uuid7
from gearlife.models import Team
from tests.gearlife.api.base_probe import Caller, World, names, pointers

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gearlife.api.base_probe")]


@pytest.fixture
def world() -> World:
    return World()


def fill(world: World, count: int, level: str = "x") -> None:
    Team.objects.bulk_create(
        Team(organisation=world.organisation, club=world.club, name=f"T{level}{n:03}", level=level)
        for n in range(count)
    )


def neighbour(answer: Any, rel: str) -> str | None:
    found = re.search(rf'<http://testserver([^>]*)>; rel="{rel}"', answer.headers.get("Link", ""))
    return found and found[1]


def walk(caller: Caller, address: str | None, rel: str = "next") -> Iterator[list[str]]:
    while address:
        answer = caller("GET", address)
        yield names(answer.json()["results"])
        address = neighbour(answer, rel)


def test_pages_lead_through_every_row_once_in_order_and_back(world: World) -> None:
    fill(world, 4, "a")
    fill(world, 3, "b")
    fill(world, 2, "c")
    everything = names(world.officer("GET", "probes/").json()["results"])
    pages = list(walk(world.officer, "/api/v1/probes/?page_size=3"))

    expected = Team.objects.filter(club=world.club).order_by("-level", "name", "id")
    assert everything == [team.name for team in expected]
    assert pages == [everything[:3], everything[3:6], everything[6:9], everything[9:]]
    last = world.officer("GET", "probes/?page_size=3")
    while onward := neighbour(last, "next"):
        last = world.officer("GET", onward)
    back = list(walk(world.officer, neighbour(last, "prev"), "prev"))
    assert back == [everything[6:9], everything[3:6], everything[:3]]


def test_rows_added_or_removed_meanwhile_are_neither_skipped_nor_doubled(world: World) -> None:
    fill(world, 6, "a")
    first = world.officer("GET", "probes/?page_size=3")
    Team.objects.create(organisation=world.organisation, club=world.club, name="before all", level="z")
    Team.objects.filter(name=names(first.json()["results"])[-1]).delete()
    rest = [name for page in walk(world.officer, neighbour(first, "next")) for name in page]

    assert names(first.json()["results"]) + rest == ["Herons", *(f"Ta{n:03}" for n in range(6))]


def test_the_filters_travel_with_the_links(world: World) -> None:
    fill(world, 3)
    answer = world.officer("GET", f"probes/?page_size=1&club={world.club.id}")

    assert f"club={world.club.id}" in (neighbour(answer, "next") or "")


@pytest.mark.parametrize("size", ["0", "201", "-1", "x", "", "1.5", "9" * 30])
def test_a_page_size_out_of_bounds_is_refused_by_name(world: World, size: str) -> None:
    answer = world.officer("GET", f"probes/?page_size={size}")

    assert (answer.status_code, pointers(answer)) == (400, {"?page_size"})


def test_fifty_rows_are_usual_and_two_hundred_the_most(world: World) -> None:
    fill(world, 210)
    assert len(world.officer("GET", "probes/").json()["results"]) == 50
    assert len(world.officer("GET", "probes/?page_size=200").json()["results"]) == 200


def cursor(*values: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")


@pytest.mark.parametrize(
    "broken",
    [
        *(
            "",
            "x",
            "=",
            "ü",
            "0" * 41,
            cursor(),
            cursor(0),
            cursor(0, "x", "y"),
            cursor(0, "x", "y", "no id"),
        ),
        *(
            cursor(0, "x", 5, str(uuid7())),
            cursor(0, "x", "\x00", str(uuid7())),
            cursor(0, "\ud800", "y", str(uuid7())),
        ),
        cursor({}, [], None, None),
    ],
)
def test_a_broken_cursor_is_refused_by_name(world: World, broken: str) -> None:
    answer = world.officer("GET", f"probes/?cursor={broken}")

    assert (answer.status_code, pointers(answer)) == (400, {"?cursor"})


def test_a_cursor_of_another_organisation_opens_no_door(world: World) -> None:
    fill(world, 3)
    onward = neighbour(world.officer("GET", "probes/?page_size=1"), "next")

    seen = [name for page in walk(world.foreigner, onward) for name in page]
    assert set(seen) <= {"Newts"}


def test_a_filter_takes_a_field_by_its_name(world: World) -> None:
    assert names(world.administrator("GET", f"probes/?club={world.far_club.id}").json()["results"]) == ["Otters"]
    assert names(world.administrator("GET", "probes/?name=Herons&nameless=false").json()["results"]) == ["Herons"]


@pytest.mark.parametrize("key", ["foreign_club", "nobody's"])
def test_a_foreign_or_missing_id_in_a_filter_gives_an_empty_list(world: World, key: str) -> None:
    id_ = world.foreign_club.id if key == "foreign_club" else uuid7()
    answer = world.administrator("GET", f"probes/?club={id_}")

    assert (answer.status_code, answer.json()) == (200, {"results": []})


@pytest.mark.parametrize(
    ("query", "places"),
    [
        ("colour=red&x=1", {"?colour", "?x"}),
        ("club=5", {"?club"}),
        ("nameless=perhaps", {"?nameless"}),
        ("name=", {"?name"}),
        ("name=a&name=b", {"?name"}),
        ("name=" + "a" * 201, {"?name"}),
        ("name=%00", {"?name"}),
        ("club=5&colour=red", {"?club", "?colour"}),
    ],
)
def test_a_filter_that_cannot_be_is_refused_by_name(world: World, query: str, places: set[str]) -> None:
    answer = world.officer("GET", f"probes/?{query}")

    assert (answer.status_code, pointers(answer)) == (400, places)


@pytest.mark.parametrize("query", ["colour=red", "page_size=5", "name=Herons"])
def test_a_parameter_that_nobody_would_read_is_refused_everywhere(world: World, query: str) -> None:
    for method, address in (("GET", f"probes/{world.team.id}/"), ("POST", f"probes/{world.team.id}/say/")):
        answer = world.officer(method, f"{address}?{query}")
        assert (answer.status_code, pointers(answer)) == (400, {f"?{query.split('=', maxsplit=1)[0]}"})


def test_the_number_of_queries_does_not_grow_with_the_rows(world: World) -> None:
    with CaptureQueriesContext(connection) as few:
        world.officer("GET", "probes/")
    fill(world, 49)
    with CaptureQueriesContext(connection) as many:
        world.officer("GET", "probes/")

    assert len(many) == len(few) == 2
