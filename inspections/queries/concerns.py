"""What damage reports say of gear, until somebody has confirmed or dismissed them."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity
from gearlife.models import Hold
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.concerns import Concern
from inspections.domain.damage import began, stops
from inspections.domain.vocabulary import LooksLike
from inspections.models import DamageReport

Row = dict[str, Any]

COLUMNS = ("item_id", "club_id", "club__timezone", "seen_at", "received_at", "counts_as", "serial", "tag")
SAID = {
    LooksLike.DANGEROUS: "as dangerous",
    LooksLike.UNSURE: "by somebody who is not sure how bad it is",
    LooksLike.MINOR: "as minor",
}


class DamageReportedConcern(Concern):
    """Damage was reported, and nobody has decided on the report yet; what must not be worn is held besides.

    A report of gear that no record has is told of the club: somebody has to find it.
    """

    kind = "damage_reported"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per report; those of one item become one hit, and no reason is lost."""
        if reach is Reach.SEASON:
            return
        clubs = {item.club_id for item in about.items.values()}
        for row in _reports().rows(items=list(about.items), clubs=list(clubs)):
            yield _hit(row)


def _hit(row: Row) -> Hit:
    item_id, counted = row["item_id"], LooksLike(row["counts_as"])
    on = local_day(began(row["seen_at"], row["received_at"]), row["club__timezone"])
    written = " ".join(f"{name} {row[name]}" for name in ("serial", "tag") if row[name])
    of = "" if item_id else f" of gear that no record has ({written})"
    # Of known gear the hold says whether it is a stop: what a full inspection has ended is none.
    grave = row["held"] if item_id else stops(counted)
    return Hit(
        kind=DamageReportedConcern.kind,
        effect=Effect.WARN,
        advice=Advice.INSPECT if item_id else Advice.CHECK_RECORDS,
        severity=Severity.STOP if grave else Severity.ACT,
        club_id=row["club_id"],
        item_id=item_id,
        falls_on=on,
        because=f"On {on} damage{of} was reported {SAID[counted]}; nobody has decided on the report yet.",
    )


@compiled
def _reports() -> QuerySet[Any, Any]:
    reports: QuerySet[Any, Any] = DamageReport.objects.open().annotate(
        held=Exists(Hold.objects.open().filter(item_id=OuterRef("item_id"), origin_id=OuterRef("id")))
    )
    of_items = Q(item_id__in=given.ids("items"), item__retired_on__isnull=True)
    of_clubs = Q(item__isnull=True, club_id__in=given.ids("clubs"))
    return reports.filter(of_items | of_clubs).order_by("seen_at", "id").values(*COLUMNS, "held")
