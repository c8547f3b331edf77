"""What fitting does when gearlife tells that something happened."""

from collections.abc import Iterable
from uuid import UUID

from fitting.operations.assignments import end_those_of_missing
from gearlife.domain.access import Stamp
from gearlife.operations.ledger import Entry


def end_assignments(item_ids: Iterable[UUID], stamp: Stamp, **_: object) -> list[Entry]:
    """End the assignments of items that went missing; the entries for the ledger."""
    return end_those_of_missing(item_ids=item_ids, stamp=stamp)
