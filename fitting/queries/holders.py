"""Who has which item, as people call them: what gearlife shows of players."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from fitting.models import Assignment
from gearlife.queries.holders import Holder


def holders(item_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """The holders of these items by item, from their open assignments, in one query."""
    out = Assignment.objects.open().filter(item_id__in=list(item_ids)).select_related("player")
    return {each.item_id: Holder(each.player_id, each.player.label) for each in out}
