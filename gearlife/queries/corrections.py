"""Corrections of retirements as rows: what is proposed, by whom, and what came of it."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from gearlife.models import Item, RetirementCorrection

Row = dict[str, Any]

SHOWN = ("id", "item_id", "retired_on", "retired_reason", "right_item_id", "right_serial", "photo_id")
PROPOSED = ("proposed_at", "proposed_by__username", "proposed_reason")
AGREED = ("agreed_at", "agreed_by__username", "agreed_reason")


def proposed_corrections(item_ids: Iterable[UUID]) -> Mapping[UUID, Row]:
    """The corrections of these items that wait for a second person, by item; asked of none, no query is made."""
    ids = list(item_ids)
    if not ids:
        return {}
    waiting = RetirementCorrection.objects.filter(item_id__in=ids, agreed_at__isnull=True)
    return {row["item_id"]: _row(row) for row in waiting.values(*SHOWN, *PROPOSED)}


def correction_row(correction_id: UUID, day: date) -> Row:
    """One correction with its state (`proposed`, `corrected`) and its item's standing as of the day."""
    row = RetirementCorrection.objects.values(*SHOWN, *PROPOSED, *AGREED).get(id=correction_id)
    standing = Item.objects.with_standing(day).values_list("standing", flat=True).get(id=row["item_id"])
    state = "corrected" if row["agreed_at"] else "proposed"
    agreed = {"agreed_at": row["agreed_at"], "agreed_by": row["agreed_by__username"]}
    more = agreed | {"agreed_reason": row["agreed_reason"], "item_standing": standing}
    return {"item": row["item_id"], "state": state} | _row(row) | more


def _row(row: Row) -> Row:
    shown = {name: row[name] for name in ("id", "retired_on", "retired_reason", "right_serial")}
    links = {name: row[f"{name}_id"] for name in ("right_item", "photo")}
    who = {"proposed_by": row["proposed_by__username"]}
    return shown | links | who | {name: row[name] for name in ("proposed_at", "proposed_reason")}
