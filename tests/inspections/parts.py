"""Positions, parts and guards of a model as an officer enters them, for tests."""

from typing import Any

from gearlife.domain.access import Stamp
from gearlife.models import Club, GearModel, Item
from inspections.domain.part_stock import StockAct
from inspections.domain.parts import PartSort
from inspections.models import Faceguard, PadChange, PadPosition, StockEntry
from inspections.operations.pad_changes import NewPadChange, record_pad_change
from inspections.operations.part_lists import NewApproved, NewGuard, NewPosition, add_guard, add_position, approve_part
from inspections.operations.part_stock import NewStockEntry, enter_stock
from tests.factories import stamp

LISTED: dict[str, tuple[PartSort, int, dict[str, float | None]]] = {
    "crown": (PartSort.PAD, 1, {"Crown 20": 20.0, "Crown 25": 25.0}),
    "jaw": (PartSort.JAW_PAD, 2, {"Jaw 12": 12.0}),
    "guard": (PartSort.FACEGUARD, 1, {"Bars 4": None}),
    "clip": (PartSort.CLIP, 4, {"Clip": None}),
}


def list_parts(model: GearModel) -> dict[str, PadPosition]:
    """The booklet of a helmet: a crown pad in two thicknesses, jaw pads, a guard, clips."""
    own = stamp(model.organisation)
    found = {}
    for code, (sort, count, parts) in LISTED.items():
        label = code.replace("_", " ").capitalize()
        found[code] = add_position(new=NewPosition(model, code, label, sort, count), stamp=own)
        for part, thickness_mm in parts.items():
            approve_part(new=NewApproved(found[code], part, thickness_mm=thickness_mm), stamp=own)
    return found


def put_in(item: Item, position: str, part: str, by: Stamp, **facts: Any) -> PadChange:
    """Record that a part was put in; an empty one took out."""
    return record_pad_change(new=NewPadChange(item, position, part, **facts), stamp=by)


def guard(club: Club, label: str = "G-1", **facts: Any) -> Faceguard:
    """A guard of the club."""
    new = NewGuard(club, label, **{"part": "Bars 4", **facts})
    return add_guard(new=new, stamp=stamp(club.organisation))


def shelve(club: Club, part: str, count: int, act: StockAct = StockAct.DELIVERED, **facts: Any) -> StockEntry:
    """So many delivered or counted."""
    return enter_stock(new=NewStockEntry(club, part, act, count, **facts), stamp=stamp(club.organisation))
