"""A team whose gear is worn and wants looking over, and how the tests go through its check as a browser would."""

from datetime import timedelta
from typing import Any

from django.test import Client
from django.urls import reverse

from gearlife.models import Item, Team
from tests import factories
from tests.factories import AT, ItemFactory, PlayerFactory, put_on
from tests.pages import forms

BEFORE = AT - timedelta(days=30)


def worn(team: Team, number: int | None = None, **facts: Any) -> Item:
    """A helmet on a player of the team for a month, never looked over."""
    names = {name: facts.pop(name) for name in ("given_name", "family_name") if name in facts}
    player = PlayerFactory.create(club=team.club, team=team, jersey_number=number, **names)
    taken_in = factories.stamp(team.organisation, BEFORE)
    item = ItemFactory.create(**{"club": team.club, "team": team, "stamp": taken_in, **facts})
    put_on(item, player, at=BEFORE)
    return item


def look_at(item: Item) -> str:
    return reverse("inspections:look", args=[item.id])


def off(item: Item) -> str:
    return reverse("inspections:off", args=[item.id])


def page_of(team: Team, name: str = "round") -> str:
    return reverse(f"inspections:{name}", args=[team.id])


def form(client: Client, address: str, what: str) -> dict[str, Any]:
    """What the form for this would send as it stands."""
    posted = [each.fields for each in forms(client.get(address)) if each.fields.get("what") == what]
    assert posted, f"no form for {what} at {address}"
    return posted[0]


def send(client: Client, address: str, what: str, **more: Any) -> Any:
    """Open the page and send one of its forms."""
    return client.post(address, form(client, address, what) | more)
