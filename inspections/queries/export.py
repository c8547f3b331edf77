"""What inspections hold of a person: looks at gear while it was worn, and that it was not there."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Q

from fitting.queries.export import Wearing
from inspections.models import Finding, Inspection, NotSeen

Row = dict[str, Any]
LOOKED = ("id", "item", "depth", "inspected_at", "outcome", "not_looked_at")
MISSED = ("id", "item", "noted_at", "note")
FOUND = ("point", "defect", "grade", "counts_as", "fixed_here", "part", "note", "deal_with_by")


def held_of_person(player_id: UUID, worn: Sequence[Wearing]) -> Mapping[str, list[Row]]:
    """Inspections of gear while the player had it, with what was found; who looked is not told."""
    while_worn = Q(pk=None)
    for each in worn:
        span = Q(item_id=each.item_id, inspected_at__gte=each.since)
        while_worn |= span & Q(inspected_at__lte=each.until) if each.until else span
    looked: list[Row] = list(Inspection.objects.filter(while_worn).order_by("inspected_at", "id").values(*LOOKED))
    by_id: dict[UUID, Row] = {row["id"]: row | {"findings": []} for row in looked}
    found = Finding.objects.filter(inspection_id__in=by_id).order_by("id").values("inspection_id", *FOUND)
    for finding in found:
        by_id[finding.pop("inspection_id")]["findings"].append(finding)
    missed = NotSeen.objects.filter(player_id=player_id).order_by("noted_at", "id")
    return {"inspections_while_worn": list(by_id.values()), "not_seen": list(missed.values(*MISSED))}
