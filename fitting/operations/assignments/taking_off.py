"""Take gear off a player though nothing replaces it: back into the room, and stopped where it was not already."""

from django.db import transaction

from fitting.models import Assignment
from fitting.operations.assignments.returning import return_item
from gearlife.domain.access import Stamp
from gearlife.models import Item
from gearlife.operations import holds


@transaction.atomic
def take_off(*, assignment: Assignment, condition: str, reason: str, stamp: Stamp) -> Assignment:
    """Take one item back and, where a reason is given, hold it in the same act, so that nobody hands it out between.

    Sent again it changes nothing: the item has been returned, and the same hold is open.
    """
    Item.objects.locked([assignment.item_id])
    if reason:
        holds.hold(new=holds.NewHold(item_id=assignment.item_id, reason=reason), stamp=stamp)
    return return_item(assignment=assignment, at=None, condition=condition, stamp=stamp)
