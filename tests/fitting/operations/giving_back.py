"""Giving back what was worn."""

from fitting.models import Assignment
from fitting.operations.assignments import return_item
from gearlife.models import Item
from tests.factories import AT, stamp


def give_back(assignment: Assignment) -> None:
    """Into the room at the tests' moment, where it is inspected in full at once."""
    return_item(assignment=assignment, at=AT, condition="", stamp=stamp(assignment.item.club.organisation))
    Item.objects.filter(id=assignment.item_id).update(last_full_inspection_at=AT)
