"""Records of air as rows, and what a gauge will read elsewhere."""

from collections import defaultdict
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from gearlife.models import Hold
from inspections.domain.air import Reading, Surroundings, expected
from inspections.domain.air_leaks import by_cell
from inspections.domain.air_records import Measured
from inspections.queries.air import NUMBERS, WINDOW, records_of

Row = dict[str, Any]
COLUMNS = ("id", "version", "item", "cell", "act", "felt", *NUMBERS, "counts_as")
WHEN = ("happened_at", "recorded_at", "device_at", "clock_ahead_seconds")
GIVES = "A bound: its liner gives, so that it changes by less."


def air_columns(records: QuerySet[Any]) -> QuerySet[Any, Row]:
    """Records as plain rows."""
    return records.values(*COLUMNS, *WHEN, recorded_by_name=F("recorded_by__username"))


def with_reference(rows: list[Row]) -> list[Row]:
    """Add each pressure at reference conditions, and the holds that a record opened, in one query."""
    opened: dict[UUID, list[UUID]] = defaultdict(list)
    stops = [row["id"] for row in rows if row["counts_as"] == "stop"]
    for hold_id, origin_id in _opened(stops) if stops else ():
        opened[origin_id].append(hold_id)
    for row in rows:
        row |= {"recorded_by": row.pop("recorded_by_name"), "holds": opened[row["id"]]}
        row |= {"at_reference": _at_reference(Measured(**{name: row[name] for name in NUMBERS}))}
    return rows


def expected_rows(item_id: UUID, day: date, there: Surroundings) -> list[Row]:
    """What each cell will read there, by its last reading that can be compared; none of a cell without one."""
    since = datetime.combine(day, time.min, UTC) - WINDOW
    rows = []
    for cell, records in by_cell(records_of([item_id], since).get(item_id, [])).items():
        telling = [each for each in records if each.moves_air or each.measured.at_reference]
        measured = telling[-1].measured if telling else Measured()
        if measured.pressure_kpa is None or measured.surroundings is None:
            continue
        told = expected(Reading(measured.pressure_kpa, measured.surroundings), there)
        rows.append(
            {
                "cell": cell,
                "read_at": telling[-1].happened_at,
                "was_kpa": measured.pressure_kpa,
                "changes_at_most_kpa": round(told.at_most_kpa, 1),
                "rigid": _rounded(told.rigid.pressure_kpa, told.rigid.error_kpa),
                "says": GIVES,
            }
        )
    return rows


def _at_reference(measured: Measured) -> Row | None:
    estimate = measured.at_reference
    return _rounded(estimate.pressure_kpa, estimate.error_kpa) if estimate else None


def _rounded(pressure_kpa: float, error_kpa: float) -> Row:
    return {"pressure_kpa": round(pressure_kpa, 1), "error_kpa": round(error_kpa, 1)}


def _opened(record_ids: list[UUID]) -> QuerySet[Any, Any]:
    return Hold.objects.filter(origin_id__in=record_ids).order_by("id").values_list("id", "origin_id")
