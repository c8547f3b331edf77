"""Who has which item, as people call them: what gearlife shows of players."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from fitting.domain.players import label
from fitting.models import Assignment, Player
from fitting.queries.naming import by_number_or_name
from gearlife.domain.access import Actor
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.holders import Holder

COLUMNS = ("item_id", "player_id", "player__given_name", "player__family_name", "player__jersey_number")


def holders(item_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """The holders of these items by item, from their open assignments, in one query."""
    out = _out().values(items=list(item_ids))
    return {item_id: Holder(player_id, label(*name), name[-1]) for item_id, player_id, *name in out}


def people(player_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """What people call these players, by id, in one query."""
    rows = Player.objects.filter(id__in=list(player_ids))
    named = rows.values_list("id", "given_name", "family_name", "jersey_number")
    return {id_: Holder(id_, label(given, family, number), number) for id_, given, family, number in named}


def holders_seen(item_ids: Iterable[UUID], actor: Actor) -> Mapping[UUID, Holder]:
    """The holders of these items whom the actor may see, by item, in one query."""
    out: QuerySet[Any, Any] = Assignment.objects.open().visible_to(actor).filter(item_id__in=list(item_ids))
    rows = out.values_list(*COLUMNS)
    return {item_id: Holder(player_id, label(*name), name[-1]) for item_id, player_id, *name in rows}


def held_by(typed: str, actor: Actor) -> QuerySet[Any, Any]:
    """The ids of what players of this number or name have, of those whom the actor may see."""
    players = by_number_or_name(Player.objects.visible_to(actor), typed)
    items: QuerySet[Any, Any] = Assignment.objects.open().filter(player_id__in=players.values("id")).values("item_id")
    return items


@compiled
def _out() -> QuerySet[Any, Any]:
    out = Assignment.objects.open().filter(item_id__in=given.ids("items"))
    return out.values_list(*COLUMNS)
