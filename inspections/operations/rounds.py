"""Record a part of a round at once: what was looked over, and what was not there."""

from collections.abc import Sequence

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.models import Item
from inspections.models import Inspection
from inspections.operations.inspect import NewInspection, record_inspections
from inspections.operations.not_seen import NewNotSeen, note_all_not_seen


@transaction.atomic
def record_round(
    *, looked_over: Sequence[NewInspection], not_seen: Sequence[NewNotSeen], stamp: Stamp
) -> list[Inspection]:
    """Record both, all or nothing, in a number of queries that does not grow with them; the inspections in order."""
    # Every item first: each of the two acts ends with the ledger's head, after which nobody may wait for an item.
    Item.objects.lock([*(new.item.id for new in looked_over), *(new.item.id for new in not_seen)])
    if not_seen:
        note_all_not_seen(not_seen, stamp)
    return record_inspections(looked_over, stamp) if looked_over else []
