"""What inspections hold of a person: what was seen of gear and done to it while worn, and that it was not there."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Q

from fitting.queries.export import Wearing
from inspections.models import AirRecord, DamageReport, Finding, Inspection, NotSeen, PadChange

Row = dict[str, Any]
LOOKED = ("id", "item", "depth", "inspected_at", "outcome", "not_looked_at")
MISSED = ("id", "item", "noted_at", "note")
FOUND = ("point", "defect", "grade", "counts_as", "fixed_here", "part", "note", "deal_with_by")
REPORTED = ("id", "item", "seen_at", "description", "severity", "counts_as", "state", "decided_reason")
CHANGED = ("id", "item", "position__code", "part", "size", "thickness_mm", "reason", "changed_at")
AIRED = ("id", "item", "cell", "act", "felt", "pressure_kpa", "happened_at")


def held_of_person(player_id: UUID, worn: Sequence[Wearing]) -> Mapping[str, list[Row]]:
    """Records of gear while the player had it; by whom is not told."""
    missed = NotSeen.objects.filter(player_id=player_id).order_by("noted_at", "id")
    return {
        "inspections_while_worn": _inspections(worn),
        "damage_reports_while_worn": _while_worn(DamageReport, "seen_at", worn, REPORTED),
        "pad_changes_while_worn": _while_worn(PadChange, "changed_at", worn, CHANGED),
        "air_records_while_worn": _while_worn(AirRecord, "happened_at", worn, AIRED),
        "not_seen": list(missed.values(*MISSED)),
    }


def _inspections(worn: Sequence[Wearing]) -> list[Row]:
    """With what was found."""
    looked = _while_worn(Inspection, "inspected_at", worn, LOOKED)
    by_id: dict[UUID, Row] = {row["id"]: row | {"findings": []} for row in looked}
    found = Finding.objects.filter(inspection_id__in=by_id).order_by("id").values("inspection_id", *FOUND)
    for finding in found:
        by_id[finding.pop("inspection_id")]["findings"].append(finding)
    return list(by_id.values())


def _while_worn(table: type[Any], moment: str, worn: Sequence[Wearing], columns: Sequence[str]) -> list[Row]:
    """The rows of an item's table whose moment lies in one of the spans, oldest first."""
    inside = Q(pk=None)
    for each in worn:
        span = Q(**{"item_id": each.item_id, f"{moment}__gte": each.since})
        inside |= span & Q(**{f"{moment}__lte": each.until}) if each.until else span
    return list(table.objects.filter(inside).order_by(moment, "id").values(*columns))
