"""Findings, and how the tests record an inspection and read what it left."""

from datetime import date
from typing import Any

from gearlife.domain.access import Stamp
from gearlife.models import Item
from inspections.models import Inspection
from inspections.operations.inspect import NewFinding, NewInspection, record_inspection
from tests.factories import DAY

CRACK = NewFinding("shell", "crack", "stop")
BARE_METAL = NewFinding("faceguard", "bare_metal", "repair")
STRAP_REPLACED = NewFinding("chin_strap", "under_four_points", "stop", fixed_here=True, part="strap, new")


def inspect(item: Item, stamp: Stamp, *findings: NewFinding, **facts: Any) -> Inspection:
    return record_inspection(new=NewInspection(item, findings=findings, **facts), stamp=stamp)


def standing(item: Item, day: date = DAY) -> str:
    return str(Item.objects.with_standing(day).values_list("standing", flat=True).get(id=item.id))
