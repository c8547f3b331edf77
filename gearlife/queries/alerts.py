"""Alerts as rows, those that cannot wait first."""

from typing import Any

from django.db.models import Case, F, IntegerField, QuerySet, Value, When

from gearlife.domain.vocabulary import Severity
from gearlife.models.alerts import AlertQuerySet
from gearlife.queries.limits import known

Row = dict[str, Any]

PEOPLE = ("acknowledged_by", "put_off_by")
NAMES = {"player": F("player_id"), "team": F("item__team_id")} | {
    f"{one}_name": F(f"{one}__username") for one in PEOPLE
}
SHOWN = (
    *("id", "version", "kind", "advice", "severity", "stage", "item", "player", "club", "team", "falls_on", "because"),
    *("opened_at", "closed_at", "acknowledged_at", "acknowledged_by", "acknowledged_note", "told_whom", "told_at"),
    *("put_off_until", "put_off_reason", "put_off_by"),
)
COLUMNS = tuple(name for name in SHOWN if name not in {*NAMES, *PEOPLE})
URGENCY = Case(
    *(When(severity=word.value, then=Value(rank)) for rank, word in enumerate(Severity)),
    default=Value(len(Severity)),
    output_field=IntegerField(),
)


def alert_columns(alerts: AlertQuerySet) -> QuerySet[Any, Row]:
    """The alerts as plain rows; `urgency` orders them."""
    rows: QuerySet[Any, Row] = alerts.annotate(urgency=URGENCY).values(*COLUMNS, **NAMES)
    return rows


def complete_alerts(rows: list[Row]) -> list[Row]:
    """Null for a day that nobody knows; people by user name."""
    return [_shown(row | {one: row[f"{one}_name"] for one in PEOPLE}) for row in rows]


def _shown(row: Row) -> Row:
    return {name: row[name] for name in SHOWN} | {"falls_on": known(row["falls_on"])}
