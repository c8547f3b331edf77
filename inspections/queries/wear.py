"""How an item has worn, point by point: a fixed number of queries, however often it was looked over."""

from collections import defaultdict
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.days import local_day
from gearlife.domain.vocabulary import Kind, ReleaseBasis
from gearlife.models import Hold, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from inspections.domain.grades import worst
from inspections.domain.vocabulary import Grade
from inspections.domain.wear import Looked, PointWear, wear_of
from inspections.models import Finding, Inspection
from inspections.queries.checklists import newest_checklists


def wear_of_item(item: Item) -> list[PointWear]:
    """Every point at which something was ever found; days on the club's calendar."""
    found: dict[UUID, dict[str, list[Grade]]] = defaultdict(lambda: defaultdict(list))
    fixed: dict[UUID, set[str]] = defaultdict(set)
    dealt_with = {row[0] for row in _ended().values(item=item.id)}
    for id_, inspection_id, point, counts_as, fixed_here in _findings().values(item=item.id):
        found[inspection_id][point].append(Grade(counts_as))
        if fixed_here or id_ in dealt_with:
            fixed[inspection_id].add(point)
    return wear_of(
        Looked(
            inspection=id_,
            at=at,
            on=local_day(at, item.club.timezone),
            points=frozenset(point["code"] for point in points) - frozenset(missed),
            found={point: worst(grades) for point, grades in found[id_].items()},
            fixed=frozenset(fixed[id_]),
        )
        for id_, at, points, missed in _inspections().values(item=item.id)
    )


def labels_of_points(item: Item) -> dict[str, str]:
    """What the newest checklist of the item's kind calls its points."""
    checklist = newest_checklists(item.organisation_id).get(Kind(item.kind))
    return {point["code"]: point["label"] for point in checklist.points} if checklist else {}


def label_of(point: str, labels: dict[str, str]) -> str:
    """A point in words; one that no checklist has any more by its code."""
    return labels.get(point) or point.replace("_", " ").capitalize()


@compiled
def _inspections() -> QuerySet[Any, Any]:
    rows = Inspection.objects.filter(item_id=given.one_id("item")).order_by("inspected_at", "id")
    return rows.values_list("id", "inspected_at", "checklist__points", "not_looked_at")


@compiled
def _findings() -> QuerySet[Any, Any]:
    rows = Finding.objects.filter(inspection__item_id=given.one_id("item")).order_by("id")
    return rows.values_list("id", "inspection_id", "point", "counts_as", "fixed_here")


@compiled
def _ended() -> QuerySet[Any, Any]:
    """What the holds that somebody ended came from: it was dealt with, or was none. A retirement mends nothing."""
    ended = Hold.objects.filter(item_id=given.one_id("item"), released_at__isnull=False, origin_id__isnull=False)
    return ended.exclude(release_basis=ReleaseBasis.RETIRED.value).values_list("origin_id")
