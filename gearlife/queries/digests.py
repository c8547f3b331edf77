"""What a person's daily mail tells: open alerts by cause, counted by the database; and how the sweeps went."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, Min

from gearlife.domain.digests import Cause
from gearlife.domain.vocabulary import Kind, Severity
from gearlife.models import Alert, Sweep, User
from gearlife.models.alerts import AlertQuerySet
from gearlife.queries.access import actor_of_user

DAYS = 7
SAME = ("severity", "because", "falls_on", "put_off_until", "put_off_reason")


def stopped_for(user: User) -> int:
    """How many items that the person may see must not be worn."""
    stops = _open_for(user).filter(severity=Severity.STOP.value)
    return stops.aggregate(items=Count("item", distinct=True))["items"] or 0


def causes_for(user: User) -> list[Cause]:
    """Open alerts that the person may see, those with the same words as one."""
    rows = (
        _open_for(user)
        .values(*SAME)
        .annotate(
            count=Count("id"),
            noticed=Count("acknowledged_at"),
            kind=Min("item__kind"),
            other_kind=Max("item__kind"),
            serial=Min("item__serial"),
            tag=Min("item__tag"),
            model=Min("item__model__name"),
            other_model=Max("item__model__name"),
        )
    )
    return [_cause(row) for row in rows]


def completed_sweeps(organisation_id: UUID, day: date) -> tuple[int, int]:
    """On how many of the last seven days (or since the first sweep) a sweep was complete, and how many days it is."""
    runs = Sweep.objects.filter(organisation_id=organisation_id, day__lt=day)
    first = runs.aggregate(first=Min("day"))["first"]
    days = min(DAYS, (day - first).days) if first else 0
    complete = runs.filter(day__gte=day - timedelta(days=days), complete=True)
    return complete.values("day").distinct().count(), days


def _open_for(user: User) -> AlertQuerySet:
    alerts: AlertQuerySet = Alert.objects.visible_to(actor_of_user(user))
    return alerts.open().order_by()


def _cause(row: dict[str, Any]) -> Cause:
    kind = Kind(row["kind"]) if row["kind"] and row["kind"] == row["other_kind"] else None
    return Cause(
        severity=Severity(row["severity"]),
        kind=kind,
        name=row["serial"] or row["tag"] or "",
        model=row["model"] if row["model"] and row["model"] == row["other_model"] else "",
        **{name: row[name] for name in ("because", "falls_on", "count", "noticed", "put_off_until", "put_off_reason")},
    )
