"""Gear whose liner was made for one player: who has had it."""

from collections.abc import Iterable
from uuid import UUID

from fitting.models import Assignment
from gearlife.models import Item


def made_for_another(pairs: Iterable[tuple[Item, UUID]]) -> set[UUID]:
    """Of items each with a player's id: those made for one player that another than this one has had."""
    wanted = {item.id: player_id for item, player_id in pairs if item.made_for_one_player}
    if not wanted:
        return set()
    had = Assignment.objects.filter(item_id__in=wanted).values_list("item_id", "player_id").distinct()
    return {item_id for item_id, player_id in had if player_id != wanted[item_id]}
