"""Holds as rows: what keeps an item out of use, since when, and who may end it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from gearlife.models import Hold, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled

Row = dict[str, Any]

COLUMNS = ("id", "item_id", "cause", "reason", "reference", "starts_on", "opened_at", "ends_by", "advice")
RELEASE = ("proposed_at", "proposed_reason", "photo_id", "released_at", "release_reason", "release_basis")
# People are named by their user names; a hold opened by the machine itself names nobody.
PEOPLE = {name: F(f"{name}__username") for name in ("opened_by", "named_person", "proposed_by", "released_by")}


def open_holds_of(item_ids: Iterable[UUID], day: date) -> Mapping[UUID, list[Row]]:
    """The holds of these items that have not been ended, earliest first, in one query."""
    rows: dict[UUID, list[Row]] = defaultdict(list)
    for row in map(_named, _open_holds().rows(items=list(item_ids))):
        rows[row["item_id"]].append(_open(row, day))
    return rows


def holds_of(item_id: UUID, day: date) -> list[Row]:
    """Every hold of one item with its state, the latest first, in one query."""
    return [_open(row, day) | _ends(row) for row in map(_named, _every_hold().rows(items=[item_id]))]


def hold_row(hold_id: UUID, day: date) -> Row:
    """One hold with its state (`open`, `proposed`, `released`) and its item's standing as of the day."""
    [row] = map(_named, _hold().rows(id=hold_id))
    standing = Item.objects.with_standing(day).values_list("standing", flat=True).get(id=row["item_id"])
    first = {"id": row["id"], "item": row["item_id"], "state": _state(row), "item_standing": standing}
    return first | _open(row, day) | _ends(row)


@compiled
def _open_holds() -> QuerySet[Any, Row]:
    return _rows(Hold.objects.open().filter(item_id__in=given.ids("items")).order_by("starts_on", "id"))


@compiled
def _every_hold() -> QuerySet[Any, Row]:
    return _rows(Hold.objects.filter(item_id__in=given.ids("items")).order_by("-starts_on", "-id"))


@compiled
def _hold() -> QuerySet[Any, Row]:
    return _rows(Hold.objects.filter(id=given.one_id("id")))


def _rows(holds: Any) -> QuerySet[Any, Row]:  # noqa: ANN401 - a queryset of holds
    named = {f"{name}_name": column for name, column in PEOPLE.items()}
    rows: QuerySet[Any, Row] = holds.values(*COLUMNS, *RELEASE, "told_whom", "told_at", **named)
    return rows


def _named(row: Row) -> Row:
    return row | {name: row.pop(f"{name}_name") for name in PEOPLE}


def _open(row: Row, day: date) -> Row:
    names = ("id", "cause", "reason", "reference", "starts_on")
    later = ("opened_at", "opened_by", "ends_by", "named_person", "advice", "proposed_by", "told_whom", "told_at")
    in_force = row["starts_on"] <= day and row["released_at"] is None
    return {name: row[name] for name in names} | {"in_force": in_force} | {name: row[name] for name in later}


def _ends(row: Row) -> Row:
    """How far its end has come."""
    names = ("proposed_at", "proposed_reason", "released_at", "released_by", "release_reason")
    more = {"photo": row["photo_id"], "release_basis": row["release_basis"] or None, "state": _state(row)}
    return {name: row[name] for name in names} | more


def _state(row: Row) -> str:
    if row["released_at"]:
        return "released"
    return "proposed" if row["proposed_at"] else "open"
