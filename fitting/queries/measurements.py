"""Measurements as rows: the value out of the readings, and every reason to doubt it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, Max, QuerySet

from fitting.domain.lengths import hat_size
from fitting.domain.measuring import Measured, measured
from fitting.domain.plausibility import Earlier, age_on, doubts, last_comparable
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Measurement, Player
from fitting.models.measurements import MeasurementQuerySet
from fitting.models.players import PlayerQuerySet
from gearlife.domain.vocabulary import Units

Row = dict[str, Any]
COLUMNS = ("id", "version", "player", "kind", "protocol", "tape", "readings_mm", "taken_on", "recorded_at")
TENTHS = 1


def measurement_columns(measurements: MeasurementQuerySet) -> QuerySet[Any, Row]:
    """The measurements as plain rows."""
    rows: QuerySet[Any, Row] = measurements.values(*COLUMNS, measurer=F("measured_by__username"))
    return rows


def told(rows: Sequence[Row], unit: Units) -> list[Row]:
    """These rows with `value_mm`, `agreement`, `doubts` and `hat_size`, in two queries; lengths in words by `unit`."""
    before = _earlier({row["player"] for row in rows})
    years = dict(Player.objects.filter(id__in={row["player"] for row in rows}).values_list("id", "birth_year"))
    return [
        _plain(row) | _found(row, before[row["player"], row["kind"]], years.get(row["player"]), unit) for row in rows
    ]


def sheet_rows(players: PlayerQuerySet, day: date) -> list[Row]:
    """These players in their order, each with the newest day of each kind (`days`) and whether one was taken today."""
    rows: list[Row] = list(players.values("id", "given_name", "family_name", "jersey_number"))
    newest = Measurement.objects.filter(player_id__in=[row["id"] for row in rows])
    days: dict[UUID, dict[str, date]] = defaultdict(dict)
    for player, kind, taken_on in newest.values_list("player", "kind").annotate(Max("taken_on")):
        days[player][kind] = taken_on
    return [
        row
        | {
            "days": [days[row["id"]].get(kind.value) for kind in MeasurementKind],
            "today": day in days[row["id"]].values(),
        }
        for row in rows
    ]


def _plain(row: Row) -> Row:
    """The row as it is told: null where nobody said."""
    kept = {name: value for name, value in row.items() if name != "measurer"}
    return kept | {"measured_by": row["measurer"], "protocol": row["protocol"] or None, "tape": row["tape"] or None}


def doubts_of(new: Row, birth_year: int | None, unit: Units) -> list[str]:
    """Every reason to measure again, of a row that is not kept yet."""
    before = [(when, each) for when, each in _earlier({new["player"]})[new["player"], new["kind"]]]
    earlier = [each for _, each in before if each.taken_on <= new["taken_on"]]
    return _doubts(new, measured(new["readings_mm"], MeasurementKind(new["kind"])), earlier, birth_year, unit)


def _earlier(player_ids: Iterable[UUID]) -> Mapping[tuple[UUID, str], list[tuple[object, Earlier]]]:
    """All that is kept of these players, in the order in which it was taken, each with its id."""
    found: dict[tuple[UUID, str], list[tuple[object, Earlier]]] = defaultdict(list)
    kept = Measurement.objects.filter(player_id__in=list(player_ids)).order_by("taken_on", "recorded_at", "id")
    for row in kept.values("id", "player", "kind", "protocol", "readings_mm", "taken_on"):
        value = measured(row["readings_mm"], MeasurementKind(row["kind"])).value_mm
        found[row["player"], row["kind"]].append((row["id"], Earlier(value, row["protocol"], row["taken_on"])))
    return found


def _found(row: Row, kept: Sequence[tuple[object, Earlier]], birth_year: int | None, unit: Units) -> Row:
    value = measured(row["readings_mm"], MeasurementKind(row["kind"]))
    ids = [id_ for id_, _ in kept]
    earlier = [each for _, each in kept[: ids.index(row["id"])]]
    is_head = row["kind"] == MeasurementKind.HEAD_CIRCUMFERENCE
    return {
        "value_mm": round(value.value_mm, TENTHS),
        "agreement": value.agreement.value,
        "doubts": _doubts(row, value, earlier, birth_year, unit),
        "hat_size": hat_size(value.value_mm) if is_head else None,
    }


def _doubts(row: Row, value: Measured, earlier: Sequence[Earlier], birth_year: int | None, unit: Units) -> list[str]:
    return list(
        doubts(
            kind=MeasurementKind(row["kind"]),
            value_mm=value.value_mm,
            protocol=row["protocol"],
            tape=row["tape"],
            taken_on=row["taken_on"],
            age=age_on(row["taken_on"], birth_year),
            last=last_comparable(earlier, row["protocol"]),
            unit=unit,
        )
    )
