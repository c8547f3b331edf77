"""Inspections as rows, and what one has led to: holds, the item's standing, who wears it."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from gearlife.domain.days import local_day
from gearlife.domain.vocabulary import Standing
from gearlife.models import Hold, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.holders import holders_of
from inspections.models import Finding

Row = dict[str, Any]

COLUMNS = (
    "id",
    "version",
    "item",
    "depth",
    "inspected_at",
    "recorded_at",
    "device_at",
    "clock_ahead_seconds",
    "entered_by",
    "looked_by",
    "checklist",
    "not_looked_at",
    "outcome",
)
FOUND = ("id", "point", "defect", "grade", "counts_as", "fixed_here", "part", "note", "deal_with_by")


def inspection_columns(inspections: QuerySet[Any]) -> QuerySet[Any, Row]:
    """Inspections as plain rows."""
    return inspections.values(*COLUMNS, recorded_by_name=F("recorded_by__username"))


def with_findings(rows: list[Row]) -> list[Row]:
    """Add what was found and which holds it opened, in two queries."""
    found: dict[UUID, list[Row]] = defaultdict(list)
    inspection_of: dict[UUID, UUID] = {}
    for finding in _findings().rows(inspections=[row["id"] for row in rows]):
        inspection_of[finding["id"]] = finding.pop("inspection_id")
        found[inspection_of[finding["id"]]].append(finding)
    opened: dict[UUID, list[UUID]] = defaultdict(list)
    for hold_id, origin_id in _opened().values(origins=list(inspection_of)) if found else ():
        opened[inspection_of[origin_id]].append(hold_id)
    for row in rows:
        row |= {"recorded_by": row.pop("recorded_by_name")}
        row |= {"findings": found[row["id"]], "holds": opened[row["id"]]}
    return rows


def with_aftermath(rows: Iterable[Row], at: datetime) -> list[Row]:
    """Add each item's standing now and who wears it: what the person with the item in hand must know next."""
    told = list(rows)
    ids = {row["item"] for row in told}
    standings, holders = _standings(ids, at), holders_of(ids)
    for row in told:
        holder = holders.get(row["item"])
        row |= {"item_standing": standings[row["item"]]}
        row |= {"worn_by": {"player": holder.player_id, "label": holder.label} if holder else None}
    return told


def stopped_a_player(row: Row) -> bool:
    """Whether this inspection has taken something from a player that must not be worn now."""
    return bool(row["holds"] and row["worn_by"] and row["item_standing"] == Standing.STOPPED)


def _standings(item_ids: Iterable[UUID], at: datetime) -> dict[UUID, str]:
    """Standing on each club's own calendar: one query a time zone."""
    zones: dict[str, list[UUID]] = defaultdict(list)
    for item_id, zone in _time_zones().values(items=list(item_ids)):
        zones[zone].append(item_id)
    standings: dict[UUID, str] = {}
    for zone, ids in zones.items():
        standings |= dict(_standing_on().values(items=ids, day=local_day(at, zone)))
    return standings


@compiled
def _findings() -> QuerySet[Any, Row]:
    findings = Finding.objects.filter(inspection_id__in=given.ids("inspections"))
    return findings.order_by("id").values(*FOUND, "inspection_id")


@compiled
def _opened() -> QuerySet[Any, Any]:
    return Hold.objects.filter(origin_id__in=given.ids("origins")).order_by("id").values_list("id", "origin_id")


@compiled
def _time_zones() -> QuerySet[Any, Any]:
    return Item.objects.filter(id__in=given.ids("items")).values_list("id", "club__timezone")


@compiled
def _standing_on() -> QuerySet[Any, Any]:
    items = Item.objects.filter(id__in=given.ids("items")).with_standing(given.day("day"))
    return items.values_list("id", "standing")
