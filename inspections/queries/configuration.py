"""What is in each position of one item, as rows: for the API and the pages alike."""

from datetime import date
from typing import Any

from gearlife.models import Item
from inspections.domain.parts import Step
from inspections.models import PadChange, PadPosition
from inspections.queries.parts import changes_of, now_in

Row = dict[str, Any]


def configuration_rows(item: Item, on: date | None = None) -> list[Row]:
    """Each position of the item with what is in it at the end of the day (None: now), in the order of its model's list.

    After them comes what was put in while the item was said to be of another model. Two queries.
    """
    rows = changes_of([item.id])[item.id]
    by_position = now_in(item, rows, on)
    changes = {row.id: row for row in rows}
    positions = {each.id: each for each in PadPosition.objects.filter(model_id=item.model_id).order_by("id")}
    positions |= {row.position_id: row.position for row in rows if row.item_id == item.id}
    return [
        _row(position, by_position.get(id_), changes) | {"of_model": position.model_id == item.model_id}
        for id_, position in positions.items()
    ]


def _row(position: PadPosition, step: Step | None, changes: dict[Any, PadChange]) -> Row:
    cause = changes[step.cause.id] if step else None
    now = changes[step.now.id] if step and step.now else None
    return {
        "position": position.code,
        "position_id": position.id,
        "position_label": position.label,
        "sort": position.sort,
        "count": position.count,
        "required": position.required,
        "known": step is not None,
        "part": now.part if now else "",
        "size": now.size if now else "",
        "thickness_mm": now.thickness_mm if now else None,
        "approved": now.approved if now else None,
        "faceguard": now.faceguard_id if now else None,
        "faceguard_label": now.faceguard.label if now and now.faceguard else None,
        "since": cause.changed_at if cause else None,
        "recorded_by": cause.recorded_by.username if cause and cause.recorded_by else None,
        "reason": now.reason if now else "",
        "pad_change": cause.id if cause else None,
    }
