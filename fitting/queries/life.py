"""Who has worn an item, as spans of its life; the names as whoever asks may see them."""

from collections.abc import Collection, Iterator
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from fitting.domain.players import label
from fitting.models import Assignment
from gearlife.domain.access import Actor
from gearlife.domain.days import local_day
from gearlife.domain.life import Span, SpanKind
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.life import Told

PLAYER = ("player__given_name", "player__family_name", "player__jersey_number")
COLUMNS = ("id", "item_id", "issued_at", "returned_at", "loan", "item__club__timezone", *PLAYER)
UNNAMED = "a player"


def worn(item_ids: Collection[UUID], actor: Actor) -> Iterator[Told]:
    """Every player who has had them, from when to when; one whom the asker may not see stays without a name."""
    named = set(Assignment.objects.visible_to(actor).filter(item_id__in=item_ids).values_list("id", flat=True))
    for id_, item_id, issued_at, returned_at, loan, zone, *player in _worn().values(items=item_ids):
        who = label(*player) if id_ in named else UNNAMED
        ends_on = local_day(returned_at, zone) if returned_at else None
        words = f"{'Lent to' if loan else 'Worn by'} {who}."
        yield item_id, Span(SpanKind.WORN, local_day(issued_at, zone), ends_on, who, words)


@compiled
def _worn() -> QuerySet[Any, Any]:
    assignments = Assignment.objects.filter(item_id__in=given.ids("items"))
    return assignments.order_by("issued_at", "id").values_list(*COLUMNS)
