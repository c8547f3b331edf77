"""No page asks more of the database because there is more gear, and there are more players."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gearlife.operations.holds import NewHold, hold
from tests.factories import ItemFactory, ModelFactory, PlayerFactory, put_on, stamp
from tests.gearlife.api.league import League
from tests.gearlife.web.every_page import OPEN, Address, pages
from tests.pages import sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

FEW, MORE = 4, 36
MOST_QUERIES = 60
PAGES = [page for page in pages() if page.name not in OPEN]


def grow(league: League, count: int) -> None:
    """More of one model: each third held, each third worn, each sixth worn and held."""
    model = ModelFactory.create(manufacturer__organisation=league.organisation)
    for number in range(count):
        item = ItemFactory.create(club=league.club, model=model, team=league.team)
        if number % 3 == 0:
            hold(new=NewHold(item_id=item.id, reason="crack"), stamp=stamp(league.organisation))
        if number % 3 == 1 or number % 6 == 0:
            put_on(item, PlayerFactory.create(club=league.club, team=league.team))


def asked(client: Client, page: Address, league: League) -> int:
    """How many statements the page takes."""
    with CaptureQueriesContext(connection) as captured:
        answer = client.get(page.path(league))
        if answer.streaming:
            list(answer)
    return len(captured)


def test_every_page_asks_as_much_for_40_items_as_for_4() -> None:
    league = League()
    client = sign_in(Client(), league.users["A"])
    grow(league, FEW)
    few = {page.name: asked(client, page, league) for page in PAGES}
    grow(league, MORE)
    many = {page.name: asked(client, page, league) for page in PAGES}
    assert {name: (few[name], many[name]) for name in few if many[name] > few[name]} == {}
    assert {name: count for name, count in many.items() if count > MOST_QUERIES} == {}
