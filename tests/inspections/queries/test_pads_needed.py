"""What could replace an item says which pads the player needs in it, and whether the club has them."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Player
from fitting.queries.replacements import replacements_for
from gearlife.domain.access import Stamp
from gearlife.models import Club, Item
from inspections.domain.part_stock import StockAct
from tests.factories import AT, DAY, ItemFactory, PlayerFactory, fitted, officer, put_on
from tests.factories import stamp as stamp_of
from tests.inspections.parts import list_parts, put_in, shelve

pytestmark = pytest.mark.django_db


@pytest.fixture
def stamp(club: Club) -> Stamp:
    return stamp_of(officer(club))


@pytest.fixture
def player(club: Club) -> Player:
    return PlayerFactory.create(club=club)


@pytest.fixture
def worn(item: Item, player: Player, stamp: Stamp) -> Item:
    """A helmet that was fitted with a pad of 25 mm and worn since."""
    list_parts(item.model)
    put_in(item, "crown", "Crown 25", stamp, changed_at=AT - timedelta(days=3))
    put_in(item, "clip", "Clip", stamp, changed_at=AT - timedelta(days=3))
    fitted(item, player, at=AT - timedelta(days=2))
    put_on(item, player, at=AT - timedelta(days=1))
    return item


def spare(worn: Item) -> Item:
    return ItemFactory.create(club=worn.club, model=worn.model)


def offered(worn: Item) -> dict[Any, dict[str, Any]]:
    rows = replacements_for(worn, among=Item.objects.filter(club=worn.club), day=DAY)
    return {row["item"]: row for row in rows}


def test_a_replacement_says_the_pads_with_which_it_was_accepted_and_how_many_there_are(worn: Item) -> None:
    shelve(worn.club, "crown 25", 3, StockAct.COUNTED)
    other = spare(worn)
    row = offered(worn)[other.id]

    assert row["pads"] == [
        {
            "position": "Crown",
            "part": "Crown 25",
            "size": "",
            "thickness_mm": 25.0,
            "count": 1,
            "in_it": False,
            "in_stock": 3,
        }
    ]
    assert "Pads with which it was accepted: Crown: Crown 25 (25 mm), to be put in; the room has 3." in row["why"]


def test_what_is_in_it_already_is_said(worn: Item, stamp: Stamp) -> None:
    ready, other = spare(worn), spare(worn)
    put_in(ready, "crown", "Crown 25", stamp)
    put_in(other, "crown", "Crown 20", stamp)
    rows = offered(worn)

    assert rows[ready.id]["pads"][0]["in_it"]
    assert "Crown 25 (25 mm), which is in it." in rows[ready.id]["why"]
    assert not rows[other.id]["pads"][0]["in_it"]


def test_none_left_and_never_counted_are_two_things(worn: Item) -> None:
    other = spare(worn)
    assert "whether the room has any is not counted" in offered(worn)[other.id]["why"]
    shelve(worn.club, "Crown 25", 0, StockAct.COUNTED)
    assert "but the room has none of 1" in offered(worn)[other.id]["why"]


def test_what_was_changed_after_the_fit_was_not_accepted(worn: Item, stamp: Stamp) -> None:
    other = spare(worn)
    put_in(worn, "crown", "Crown 20", stamp)
    assert [pad["part"] for pad in offered(worn)[other.id]["pads"]] == ["Crown 25"]


def test_of_a_model_that_was_never_accepted_nothing_is_said(worn: Item) -> None:
    another = ItemFactory.create(club=worn.club)
    assert offered(worn)[another.id]["pads"] == []


def test_asking_for_twenty_asks_as_much_as_asking_for_two(worn: Item, stamp: Stamp) -> None:
    def asked(count: int) -> int:
        for _ in range(count):
            put_in(spare(worn), "crown", "Crown 20", stamp)
        with CaptureQueriesContext(connection) as captured:
            offered(worn)
        return len(captured)

    assert asked(2) == asked(16)
