"""Gear on players, stopped or not, and what a day says of it."""

from datetime import timedelta
from typing import Any

from gearlife.domain.access import Actor
from gearlife.domain.today import Answered
from gearlife.models import Alert, Club, Item
from gearlife.operations import holds
from gearlife.queries.today import asked_today
from tests.factories import (
    DAY,
    ItemFactory,
    PlayerFactory,
    officer,
    put_on,
    stamp,
)


def asked(by: Actor | Club, days: int = 0) -> Answered:
    """What the day says to an actor, or to an officer of a club."""
    who = officer(by) if isinstance(by, Club) else by
    day = DAY + timedelta(days=days)
    return asked_today(Item.objects.visible_to(who), Alert.objects.visible_to(who), day)


def stop(item: Item, reason: str = "shell: crack found") -> None:
    """Hold it."""
    holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(item.organisation))


def worn(club: Club, number: int | None = 7, **facts: Any) -> Item:
    """An item on a player, with nothing against it."""
    item = ItemFactory.create(club=club, **facts)
    put_on(item, PlayerFactory.create(club=club, jersey_number=number, family_name="Marsh"))
    return item


def stopped(club: Club, number: int | None = 7, reason: str = "shell: crack found") -> Item:
    """An item on a player, held since."""
    item = worn(club, number)
    stop(item, reason)
    return item
