"""Alerts as rows, those that cannot wait first."""

from typing import Any

from django.db.models import Case, F, IntegerField, QuerySet, Value, When

from gearlife.domain.vocabulary import Severity
from gearlife.models.alerts import AlertQuerySet
from gearlife.queries.limits import known

Row = dict[str, Any]

COLUMNS = (
    *("id", "version", "kind", "advice", "severity", "stage", "item", "club", "falls_on", "because", "opened_at"),
    *("closed_at", "acknowledged_at", "acknowledged_note", "told_whom", "told_at", "put_off_until", "put_off_reason"),
)
URGENCY = Case(
    *(When(severity=word.value, then=Value(rank)) for rank, word in enumerate(Severity)),
    default=Value(len(Severity)),
    output_field=IntegerField(),
)


def alert_columns(alerts: AlertQuerySet) -> QuerySet[Any, Row]:
    """The alerts as plain rows; `urgency` orders them."""
    who = {"player": F("player_id"), "team": F("item__team_id"), "acknowledged_by_name": F("acknowledged_by__username")}
    rows: QuerySet[Any, Row] = alerts.annotate(urgency=URGENCY).values(*COLUMNS, **who)
    return rows


def complete_alerts(rows: list[Row]) -> list[Row]:
    """Null for a day that nobody knows; who acknowledged by user name."""
    for row in rows:
        row["falls_on"] = known(row["falls_on"])
        row["acknowledged_by"] = row.pop("acknowledged_by_name")
    return rows
