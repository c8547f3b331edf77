"""Who has which item, as people call them: what gearlife shows of players."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from fitting.models import Assignment, Player
from gearlife.queries import compiled as given
from gearlife.queries.compiled import Values, compiled
from gearlife.queries.holders import Holder

NAME = ("given_name", "family_name", "jersey_number")


def holders(item_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """The holders of these items by item, from their open assignments, in one query."""
    out = _out().values(items=list(item_ids))
    return {item_id: Holder(player_id, Player(**name).label) for item_id, player_id, name in map(_named, out)}


@compiled
def _out() -> QuerySet[Any, Any]:
    named = (f"player__{name}" for name in NAME)
    out = Assignment.objects.open().filter(item_id__in=given.ids("items"))
    return out.values_list("item_id", "player_id", *named)


def _named(row: Values) -> tuple[UUID, UUID, dict[str, Any]]:
    item_id, player_id, *name = row
    return item_id, player_id, dict(zip(NAME, name, strict=True))
