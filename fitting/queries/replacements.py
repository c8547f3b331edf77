"""What could replace an item: issuable stock of its kind in its club, best first."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db.models import Case, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When

from fitting.domain.replacements import Likeness, Replacement
from gearlife.domain.concerns import Hit
from gearlife.domain.vocabulary import Effect, Kind, Standing, Whereabouts
from gearlife.models import Clock, Item, ItemQuerySet
from gearlife.models.clocks import season_end
from gearlife.queries.gate import verdicts
from gearlife.queries.items import RECALLS, reason

MOST = 20
# The gate is asked about so many of the likest: in a room with more of one kind that suffices.
MOST_WEIGHED = 500
LOOK_FIRST = "look_before_issue"
Row = dict[str, Any]
COLUMNS = ("id", "serial", "tag", "size", "model_id", "model__name", "likeness", "life_ends_on", "season_ends_on")


def replacements_for(item: Item, *, among: ItemQuerySet, day: date) -> list[Row]:
    """At most 20 of these items that the gate would let out for this one, in a fixed number of queries.

    First the same model and size, then the same size label of another model, then whatever has most life left.
    What was made for one player is never among them.
    """
    likest = list(_candidates(item, among, day)[:MOST_WEIGHED])
    verdict_of = verdicts([row["id"] for row in likest], day)
    issuable = [row for row in likest if verdict_of[row["id"]].issuable][:MOST]
    return [_row(item, row, verdict_of[row["id"]].warnings) for row in issuable]


def _candidates(item: Item, among: ItemQuerySet, day: date) -> QuerySet[Any, Row]:
    """Stock that nothing stops today, the likest first."""
    room = among.filter(
        club_id=item.club_id,
        kind=item.kind,
        whereabouts=Whereabouts.STOCK.value,
        made_for_one_player=False,
    ).exclude(id=item.id)
    stops = Clock.objects.filter(item=OuterRef("pk"), effect=Effect.STOP.value, until__gte=day)
    known = room.with_standing(day).annotate(
        likeness=_likeness(item),
        life_ends_on=Subquery(stops.order_by("falls_on", "id").values("falls_on")[:1]),
        season_ends_on=season_end("club_id", day),
    )
    in_use = known.filter(standing=Standing.NO_STOP.value)
    best_first = in_use.order_by("likeness", F("life_ends_on").desc(nulls_first=True), "id")
    rows: QuerySet[Any, Row] = best_first.values(*COLUMNS)
    return rows


def _likeness(item: Item) -> Case:
    """How near each comes; where this item's own size is not recorded, none has the same."""
    same_size = Q(size__iexact=item.size)
    near = [
        When(same_size, model=item.model_id, then=Value(Likeness.SAME.value)),
        When(same_size, then=Value(Likeness.SAME_SIZE_LABEL.value)),
    ]
    return Case(*(near if item.size else []), default=Value(Likeness.OTHER.value), output_field=IntegerField())


def _row(item: Item, row: Row, warnings: Sequence[Hit]) -> Row:
    replacement = Replacement(
        likeness=Likeness(row["likeness"]),
        same_model=row["model_id"] == item.model_id,
        kind=Kind(item.kind),
        size=row["size"],
        life_ends_on=row["life_ends_on"],
        season_ends_on=row["season_ends_on"],
        first=" ".join(hit.because for hit in warnings if hit.kind == LOOK_FIRST),
    )
    return {
        "item": row["id"],
        "serial": row["serial"] or None,
        "tag": row["tag"] or None,
        "model": row["model_id"],
        "model_name": row["model__name"],
        "size": row["size"],
        "try_on": replacement.try_on,
        "life_ends_on": row["life_ends_on"],
        "why": replacement.why,
        "warnings": [*map(reason, warnings)],
        "recalls": RECALLS,
    }
