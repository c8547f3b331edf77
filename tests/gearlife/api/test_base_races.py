"""Eight at once: one creates, and everybody is told the same; on both databases."""

from collections import Counter
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.models import Creation, Team
from tests.at_once import at_once
from tests.gearlife.api.base_probe import Caller, World

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.urls("tests.gearlife.api.base_probe")]
MANY = 8


def asked_at_once(ask: Callable[[int], Any]) -> list[Any]:
    """Ask in as many threads, none before all are ready."""
    return at_once(*(partial(ask, number) for number in range(MANY)))


def of(caller: Caller) -> Caller:
    """The same person on another line: a test client is not for two threads."""
    return Caller(caller.headers["Authorization"].removeprefix("Bearer "))


def put(caller: Caller, address: str, bodies: list[dict[str, Any]], number: int) -> Any:
    return of(caller)("PUT", address, bodies[number])


def test_of_the_same_body_put_by_many_one_creates_and_the_others_find_it() -> None:
    world = World()
    for _ in range(5):
        address, body = f"probes/{uuid7()}/", world.body()
        answers = asked_at_once(partial(put, world.officer, address, [body] * MANY))

        assert Counter(answer.status_code for answer in answers) == {201: 1, 200: MANY - 1}
        assert len({answer.content for answer in answers}) == 1
        assert Team.objects.filter(name=body["name"]).count() == 1


def test_of_different_bodies_under_one_id_one_creates_and_the_others_are_refused() -> None:
    world = World()
    for _ in range(5):
        address = f"probes/{uuid7()}/"
        bodies = [world.body() for _ in range(MANY)]
        answers = asked_at_once(partial(put, world.officer, address, bodies))

        assert Counter(answer.status_code for answer in answers) == {201: 1, 409: MANY - 1}
        assert Team.objects.filter(name__in=[body["name"] for body in bodies]).count() == 1


def test_a_refused_creation_that_many_try_leaves_no_claim() -> None:
    world = World()
    address, body = f"probes/{uuid7()}/", world.body(name="refused")
    answers = asked_at_once(partial(put, world.officer, address, [body] * MANY))

    assert {answer.status_code for answer in answers} == {409}
    assert not Creation.objects.exists()


def test_of_changes_that_read_the_same_version_one_is_written() -> None:
    world = World()
    address = f"probes/{world.team.id}/"
    tag = world.officer("GET", address)["ETag"]
    answers = asked_at_once(lambda n: of(world.officer)("PATCH", address, {"name": f"name {n}"}, If_Match=tag))

    assert Counter(answer.status_code for answer in answers) == {200: 1, 412: MANY - 1}
    assert Team.objects.get(id=world.team.id).version == 2
