"""The settings ask the database as often for sixty rows as for three."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import Role
from tests.factories import ClubFactory, ItemFactory, ModelFactory, TeamFactory, add_rule, person, put_on, token
from tests.gearlife.api.league import League
from tests.gearlife.web.settings.acting import form_of
from tests.pages import sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def league() -> League:
    return League()


def grow(league: League, first: int, last: int) -> None:
    """Some more of everything."""
    for number in range(first, last):
        add_rule(league.organisation, code=f"own_{number}")
        club = ClubFactory.create(organisation=league.organisation)
        TeamFactory.create(club=club)
        model = ModelFactory.create(manufacturer=league.item.manufacturer, name=f"Dome of {number}")
        put_on(ItemFactory.create(club=league.club, model=model))
        token(person(Role.OFFICER, at=club))
        token(person(Role.OFFICER, at=club, is_device=True))


def asked(client: Client, path: str, data: dict[str, Any] | None = None) -> int:
    with CaptureQueriesContext(
        connection,
    ) as context:
        assert client.get(path, data or {}).status_code == 200
    return len(context)


PAGES = {
    "/settings/": 20,
    "/settings/rules/": 6,
    "/settings/models/": 8,
    "/settings/seasons/": 7,
    "/settings/clubs/": 8,
    "/settings/people/": 10,
    "/settings/devices/": 10,
}


def test_lists_ask_no_more_for_sixty_rows(league: League) -> None:
    client = sign_in(Client(), league.users["A"])
    client.get("/settings/")  # the first page of a session notes that it is used
    grow(league, 0, 3)
    few = {path: asked(client, path) for path in PAGES}
    grow(league, 3, 60)
    many = {path: asked(client, path) for path in PAGES}
    assert many == few
    assert {path: number for path, number in many.items() if number > PAGES[path]} == {}


def test_a_preview_asks_no_more_for_sixty_items(league: League) -> None:
    client = sign_in(Client(), league.users["A"])
    path = "/settings/rules/add/"
    typed = {"code": "own", "amount": "1", "source": "x", "mark": "P", "effect": "stop"}
    grow(league, 0, 3)
    form = form_of(client.get(path), "get").fields | typed
    few = asked(client, path, form)
    grow(league, 3, 60)
    assert asked(client, path, form) == few
