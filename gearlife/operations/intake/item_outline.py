"""What the rows of an items file do, one by one, in words and from what to what."""

from collections.abc import Mapping

from gearlife.domain.intake.outlines import Change, Deed, RowPlan
from gearlife.operations.intake.item_decisions import Decisions, ItemChange


def row_plans(decisions: Decisions) -> Mapping[int, RowPlan]:
    """By row: new, changed from what to what, or as it is recorded."""
    plans = {row.number: RowPlan(Deed.NEW) for row in decisions.additions}
    plans |= {change.number: RowPlan(Deed.CHANGES, _differences(change)) for change in decisions.changes}
    return plans | {number: RowPlan(Deed.UNCHANGED) for number in decisions.unchanged}


def _differences(change: ItemChange) -> list[Change]:
    changes = [Change(name, _text(getattr(change.item, name)), _text(value)) for name, value in change.values.items()]
    if new := change.certification:
        by = f" ({new.firm})" if new.firm else ""
        changes.append(Change("certified_on", _text(change.item.certified_on), f"{new.certified_on}{by}"))
    return changes


def _text(value: object) -> str:
    return "" if value is None else str(value)
