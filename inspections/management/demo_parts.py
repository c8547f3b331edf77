"""The demo club's parts: the makers' lists as an officer types them; a notebook of what went in and what is left."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from gearlife.domain.access import Stamp
from gearlife.domain.normal_form import normal_form
from gearlife.models import Club, GearModel, Item
from inspections.domain.part_stock import StockAct
from inspections.domain.parts import PartSort
from inspections.models import Faceguard, PadPosition
from inspections.operations.pad_changes import NewPadChange, record_pad_change
from inspections.operations.part_lists import NewApproved, NewGuard, NewPosition, add_guard, add_position, approve_part
from inspections.operations.part_stock import NewStockEntry, enter_stock

Row = dict[str, str]


def enter_lists(rows: Iterable[Row], stamp: Stamp) -> None:
    """Enter each position once, with its parts."""
    positions: dict[tuple[str, str], PadPosition] = {}
    for row in rows:
        place = row["model"], row["position"]
        if place not in positions:
            model = GearModel.objects.get(organisation_id=stamp.actor.organisation_id, name=row["model"])
            code, required = _code(row["position"]), row["required"] == "yes"
            new = NewPosition(model, code, row["position"], PartSort(row["sort"]), int(row["count"]), required)
            positions[place] = add_position(new=new, stamp=stamp)
        thickness = float(row["thickness_mm"]) if row["thickness_mm"] else None
        part = NewApproved(positions[place], row["part"], row["manufacturer"], thickness_mm=thickness)
        approve_part(new=part, stamp=stamp)


@dataclass(frozen=True)
class Notebook:
    """A club's notebook, typed in today; `moment_of` is when a day's line was written."""

    club: Club
    stamp: Stamp
    moment_of: Callable[[date], datetime]

    def type_in(self, rows: Iterable[Row]) -> None:
        """Record every line."""
        for row in rows:
            match row["act"]:
                case "guard":
                    guard = NewGuard(self.club, row["label"], row["part"], label_year=int(row["label_year"]))
                    add_guard(new=guard, stamp=self.stamp)
                case "put_in":
                    self._put_in(row)
                case act:
                    self._enter(StockAct(act), row)

    def _put_in(self, row: Row) -> None:
        guard = Faceguard.objects.get(club=self.club, label=row["label"]) if row["label"] else None
        item = Item.objects.select_related("club", "model").get(club=self.club, serial_key=normal_form(row["serial"]))
        change = NewPadChange(
            item,
            _code(row["position"]),
            row["part"],
            count=int(row["count"]) if row["count"] else None,
            faceguard=guard,
            as_found=row["as_found"] == "yes",
            changed_at=self._at(row),
        )
        record_pad_change(new=change, stamp=self.stamp)

    def _enter(self, act: StockAct, row: Row) -> None:
        new = NewStockEntry(self.club, row["part"], act, int(row["count"]), happened_at=self._at(row))
        enter_stock(new=new, stamp=self.stamp)

    def _at(self, row: Row) -> datetime:
        return self.moment_of(date.fromisoformat(row["on"]))


def _code(label: str) -> str:
    return label.casefold().replace(" ", "_")
