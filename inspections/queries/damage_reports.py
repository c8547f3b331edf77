"""Damage reports as rows, the gear that one may be about, and what still matters of an item's."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from gearlife.domain.access import Actor
from gearlife.models import Hold, Item
from inspections.domain.damage import OPEN
from inspections.domain.likely import Named, likely
from inspections.models import DamageReport, ReportPhoto

Row = dict[str, Any]

COLUMNS = (
    *("id", "version", "club", "item", "serial", "tag", "seen_at", "received_at", "description"),
    *("severity", "counts_as", "state", "decided_at", "decided_reason", "device_at", "clock_ahead_seconds"),
)
SHOWN = (
    *("item__serial", "item__tag", "item__size", "item__kind", "item__whereabouts", "item__model__name"),
    *("club__name", "club__timezone"),
)
# The pages have the newest; the list of the API has them all.
MOST = 60


def report_columns(reports: QuerySet[Any], *more: str) -> QuerySet[Any, Row]:
    """Reports as plain rows."""
    return reports.values(*COLUMNS, *more, reporter=F("reported_by__username"), decider=F("decided_by__username"))


def with_photos(rows: Iterable[Row]) -> list[Row]:
    """Add the ids of the photographs, in one query; none without rows."""
    told = list(rows)
    if not told:
        return []
    photos: dict[UUID, list[UUID]] = defaultdict(list)
    of_these = ReportPhoto.objects.filter(report_id__in=[row["id"] for row in told])
    for report_id, photo_id in of_these.order_by("id").values_list("report_id", "photo_id"):
        photos[report_id].append(photo_id)
    for row in told:
        row |= {"reported_by": row.pop("reporter"), "decided_by": row.pop("decider"), "photos": photos[row["id"]]}
    return told


def rows_for_pages(reports: QuerySet[Any]) -> list[Row]:
    """The newest of these reports with what a page says of the item, in two queries."""
    return with_photos(report_columns(reports.order_by("-seen_at", "-id"), *SHOWN)[:MOST])


def still_matter(item_id: UUID) -> list[Row]:
    """What was reported of an item and is not over: it waits for somebody, or its hold is open."""
    held = Hold.objects.open().filter(item_id=item_id, origin_id=OuterRef("id"))
    reports = DamageReport.objects.filter(item_id=item_id)
    return rows_for_pages(reports.filter(Q(state__in=OPEN) | Q(Exists(held))))


def likely_items(report: DamageReport, actor: Actor) -> list[Row]:
    """The club's items in sight that may be meant, best first, each with how alike it is written: two queries."""
    seen = Item.objects.visible_to(actor).filter(club_id=report.club_id)
    known = seen.order_by("id").values_list("id", "serial", "tag")
    found = {each.item_id: each for each in likely((report.serial, report.tag), (Named(*row) for row in known))}
    columns = ("id", "serial", "tag", "kind", "size", "whereabouts", "model__name")
    rows = Item.objects.filter(id__in=found).values(*columns)
    told = [row | {"model_name": row.pop("model__name"), "likeness": found[row["id"]].likeness} for row in rows]
    return sorted(told, key=lambda row: (-row["likeness"], str(row["id"])))
