"""Read an item's life: what gearlife itself records of it, and what the packages above add by `register_life`."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.access import Actor
from gearlife.domain.clocks import UNKNOWN_DATE
from gearlife.domain.days import local_day
from gearlife.domain.life import Life, Mark, Post, Span, SpanKind
from gearlife.domain.mini_lives import Mini, mini_strips
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import CertificationKind, Effect
from gearlife.models import Certification, Hold, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.limits import limits_of

__all__ = ["Mini", "life_of", "mini_strips", "register_life"]

Told = tuple[UUID, Mark | Span]
# Ids and who asks in, what happened to the items out, in a fixed number of queries; names only as `visible_to` says.
Source = Callable[[Collection[UUID], Actor], Iterable[Told]]

CERTIFIED = ("item_id", "kind", "counts_from", "certified_on", "label_year", "firm")
HELD = ("item_id", "starts_on", "reason", "released_at", "release_basis", "release_reason", "item__club__timezone")
LABELS = {
    CertificationKind.ORIGINAL: "certified",
    CertificationKind.RECERTIFICATION: "recertified",
    CertificationKind.RECONDITIONING: "reconditioned",
}
WEIGHT_OF_CERTIFICATION = 2
WEIGHT_OF_END = 5

_sources: list[Source] = []


def register_life(*sources: Source) -> None:
    """Add what a package above records of items; it does so in its `AppConfig.ready`."""
    _sources.extend(sources)


def life_of(item: Item, about: Recorded, actor: Actor, day: date) -> Life:
    """The life of one item that has been read, as this actor may see it."""
    told = [what for source in _sources for _, what in source([item.id], actor)]
    marks = [*_own(item), *(what for what in told if isinstance(what, Mark))]
    return Life(
        today=day,
        seen_on=min(seen for seen in (item.taken_in_on, item.acquired_on) if seen),
        made_earliest=item.made_earliest,
        made_latest=item.made_latest,
        retired_on=item.retired_on,
        seasons=tuple(about.seasons.get(item.club_id, ())),
        marks=tuple(sorted(marks, key=lambda mark: (mark.day, mark.label))),
        spans=tuple(sorted((what for what in told if isinstance(what, Span)), key=lambda span: span.starts_on)),
        posts=tuple(_post(limit) for limit in limits_of(about, day).get(item.id, ())),
    )


def certified(item_ids: Collection[UUID], actor: Actor) -> Iterator[Told]:
    """What a maker or a firm stated of them."""
    for item_id, kind, counts_from, certified_on, label_year, firm in _certified().values(items=item_ids):
        label = LABELS[CertificationKind(kind)]
        by = f" by {firm}" if firm else ""
        when = "" if certified_on else f", by a label of {label_year}; counted from this day"
        words = f"{label.capitalize()}{by}{when}."
        yield item_id, Mark(counts_from, "certified", label, words, WEIGHT_OF_CERTIFICATION)


def held(item_ids: Collection[UUID], actor: Actor) -> Iterator[Told]:
    """What has kept them out of use, ended or not."""
    for item_id, starts_on, reason, released_at, basis, release_reason, zone in _held().values(items=item_ids):
        ended = f" Ended ({_spaced(basis)}): {release_reason}" if released_at else ""
        ends_on = local_day(released_at, zone) if released_at else None
        yield item_id, Span(SpanKind.HELD, starts_on, ends_on, reason, f"Held: {reason.rstrip('.')}.{ended}")


def _own(item: Item) -> Iterator[Mark]:
    yield Mark(item.taken_in_on, "taken_in", "taken in", "Taken into these records.")
    if item.acquired_on:
        yield Mark(item.acquired_on, "acquired", "acquired", "Acquired by the club.")
    if item.retired_on:
        yield Mark(item.retired_on, "retired", "retired", f"Retired: {item.retired_reason}", WEIGHT_OF_END)


def _post(limit: Mapping[str, Any]) -> Post:
    label = "date of manufacture" if limit["code"] == UNKNOWN_DATE else _spaced(limit["code"])
    return Post(
        label=label,
        words=f"{limit['limit']}. {limit['because']}",
        falls_on=limit["falls_on"],
        effect=Effect(limit["effect"]),
        source=limit["source"],
        read=limit["mark"],
    )


def _spaced(word: str) -> str:
    return word.replace("_", " ")


@compiled
def _certified() -> QuerySet[Any, Any]:
    rows = Certification.objects.filter(item_id__in=given.ids("items"))
    return rows.order_by("counts_from", "id").values_list(*CERTIFIED)


@compiled
def _held() -> QuerySet[Any, Any]:
    return Hold.objects.filter(item_id__in=given.ids("items")).order_by("starts_on", "id").values_list(*HELD)
