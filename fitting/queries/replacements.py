"""What could replace an item: issuable stock of its kind in its club, best first."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Case, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When

from fitting.domain.pads_needed import PadNeeded
from fitting.domain.replacements import Likeness, Replacement, SizeWords
from fitting.domain.sizing import Candidate, to_try
from fitting.models import Assignment, Fit
from fitting.queries.pads_needed import pads_needed
from fitting.queries.remarks import remarks_of
from fitting.queries.sizes import estimates_of, sizings
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

    First the same model and size, then what the charts of the models call likely for the player who has the item, then
    what lies between two sizes, then what no chart tells (the same size label first), last what is unlikely; of equals
    a model of which a fit on the player was accepted, with the pads that were in it then, then whatever has most life
    left. What was made for one player is never among them.
    """
    likest = list(_candidates(item, among, day)[:MOST_WEIGHED])
    verdict_of = verdicts([row["id"] for row in likest], day)
    issuable = [row for row in likest if verdict_of[row["id"]].issuable]
    fits = _Fits.of_holder(item, {row["model_id"] for row in issuable})
    ranked = [(_replacement(item, row, verdict_of[row["id"]].warnings, fits), row) for row in issuable]
    # The sort keeps the order of those of one rank: that with the most life before the others.
    best = sorted(ranked, key=lambda each: each[0].rank)[:MOST]
    had = {row["id"]: row["model_id"] for _, row in best if row["model_id"] in fits.accepted}
    pads = pads_needed(fits.player_id, item.club_id, had)
    remarks = fits.remarks(row["model_id"] for _, row in best)
    found = []
    for replacement, row in best:
        own = replace(replacement, pads=tuple(pads.get(row["id"], ())), remarks=tuple(remarks.get(row["model_id"], ())))
        found.append(_row(own, row, verdict_of[row["id"]].warnings))
    return found


@dataclass(frozen=True)
class _Fits:
    """What the charts give the player who has the item, by model, and the models of which a fit was accepted."""

    sizes: Mapping[UUID, Sequence[Candidate]] = field(default_factory=dict)
    accepted: frozenset[UUID] = frozenset()
    player_id: UUID | None = None

    @classmethod
    def of_holder(cls, item: Item, model_ids: set[UUID]) -> "_Fits":
        """Of whoever has the item now; in a fixed number of queries."""
        player_id = Assignment.objects.open().filter(item=item).values_list("player_id", flat=True).first()
        if player_id is None or not model_ids:
            return cls()
        measures = estimates_of([player_id]).get(player_id, {})
        sizes = {model: sizing.of(measures) for model, sizing in sizings(model_ids).items()} if measures else {}
        past = Fit.objects.filter(player_id=player_id, accepted=True, item__model_id__in=model_ids)
        return cls(sizes, frozenset(past.values_list("item__model_id", flat=True)), player_id)

    def remarks(self, model_ids: Iterable[UUID]) -> Mapping[UUID, Sequence[str]]:
        """What the makers say of these models beside sizes, for this player; nothing where nobody has the item."""
        if self.player_id is None:
            return {}
        said = remarks_of((self.player_id, model_id) for model_id in model_ids)
        return {model_id: words for (_, model_id), words in said.items()}

    def words(self, model_id: UUID, size: str) -> SizeWords | None:
        """What the model's chart says of a size as an item's label spells it."""
        candidates = self.sizes.get(model_id, ())
        of = next((each for each in candidates if each.size.casefold() == size.casefold()), None)
        return SizeWords(of, tuple(each.size for each in to_try(candidates))) if of else None


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


def _replacement(item: Item, row: Row, warnings: Sequence[Hit], fits: _Fits) -> Replacement:
    return Replacement(
        likeness=Likeness(row["likeness"]),
        same_model=row["model_id"] == item.model_id,
        kind=Kind(item.kind),
        size=row["size"],
        life_ends_on=row["life_ends_on"],
        season_ends_on=row["season_ends_on"],
        first=" ".join(hit.because for hit in warnings if hit.kind == LOOK_FIRST),
        by_chart=fits.words(row["model_id"], row["size"]),
        accepted_before=row["model_id"] in fits.accepted,
    )


def _row(replacement: Replacement, row: Row, warnings: Sequence[Hit]) -> Row:
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
        "pads": [_pad(pad) for pad in replacement.pads],
        "warnings": [*map(reason, warnings)],
        "recalls": RECALLS,
    }


def _pad(pad: PadNeeded) -> Row:
    names = ("position", "part", "size", "thickness_mm", "count", "in_it", "in_stock")
    return {name: getattr(pad, name) for name in names}
