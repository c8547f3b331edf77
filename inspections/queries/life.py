"""What was looked at and found, as marks of an item's life: looks with nothing found are counted by the season."""

from collections import defaultdict
from collections.abc import Collection, Iterator
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.access import Actor
from gearlife.domain.days import local_day
from gearlife.domain.life import Mark
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.life import Told
from inspections.domain.damage import began
from inspections.domain.vocabulary import Depth, Grade, ReportState
from inspections.models import DamageReport, Finding, Inspection

COLUMNS = ("id", "item_id", "depth", "inspected_at", "item__club__timezone")
GRADES = [grade.value for grade in Grade]
SAID = {Depth.LOOK: "Looked over", Depth.FULL: "Inspected in full"}
DECIDED = {
    ReportState.NEW: "nobody has looked at the report yet",
    ReportState.UNDER_REVIEW: "somebody is looking at it",
    ReportState.CONFIRMED: "confirmed",
    ReportState.DISMISSED: "dismissed",
}
WEIGHT_OF_REPORT = 3
LABEL = {Depth.LOOK: "look", Depth.FULL: "full inspection"}


def inspected(item_ids: Collection[UUID], actor: Actor) -> Iterator[Told]:
    """Every inspection of them with its outcome in words, in two queries."""
    found: dict[UUID, list[tuple[str, str]]] = defaultdict(list)
    for inspection_id, point, defect, counts_as, fixed_here in _findings().values(items=item_ids):
        what = f"{point}: {defect}" if defect else point
        fixed = ", fixed here" if fixed_here else ""
        found[inspection_id].append((counts_as, f"{what} ({counts_as}{fixed})".replace("_", " ")))
    for id_, item_id, depth, inspected_at, zone in _inspections().values(items=item_ids):
        day = local_day(inspected_at, zone)
        yield item_id, _found(day, Depth(depth), found[id_]) if found[id_] else _nothing(day, Depth(depth))


def damage_reported(item_ids: Collection[UUID], actor: Actor) -> Iterator[Told]:
    """Every damage report of them, without what was written, in one query."""
    for item_id, seen_at, received_at, counted, state, zone in _reports().values(items=item_ids):
        day = local_day(began(seen_at, received_at), zone)
        words = f"Damage reported ({counted}): {DECIDED[ReportState(state)]}."
        yield item_id, Mark(day, "damage_reported", "damage reported", words, WEIGHT_OF_REPORT)


def _nothing(day: date, depth: Depth) -> Mark:
    return Mark(day, depth.value, LABEL[depth], f"{SAID[depth]}: nothing found.", counted=f"{LABEL[depth]}s")


def _found(day: date, depth: Depth, findings: list[tuple[str, str]]) -> Mark:
    counts_as, words = max(findings, key=lambda finding: GRADES.index(finding[0]))
    told = "; ".join(words for _, words in findings)
    return Mark(day, "found", words.partition(" (")[0], f"{SAID[depth]}: {told}.", GRADES.index(counts_as))


@compiled
def _inspections() -> QuerySet[Any, Any]:
    rows = Inspection.objects.filter(item_id__in=given.ids("items"))
    return rows.order_by("inspected_at", "id").values_list(*COLUMNS)


@compiled
def _reports() -> QuerySet[Any, Any]:
    rows = DamageReport.objects.filter(item_id__in=given.ids("items")).order_by("seen_at", "id")
    return rows.values_list("item_id", "seen_at", "received_at", "counts_as", "state", "club__timezone")


@compiled
def _findings() -> QuerySet[Any, Any]:
    rows = Finding.objects.filter(inspection__item_id__in=given.ids("items")).order_by("id")
    return rows.values_list("inspection_id", "point", "defect", "counts_as", "fixed_here")
