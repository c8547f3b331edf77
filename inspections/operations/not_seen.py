"""Note that an item was not there when it was looked for: no look, no anchor, no clock; it stays due."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fitting.models import Assignment
from gearlife.domain.access import Stamp
from gearlife.domain.device_clocks import Moment
from gearlife.domain.errors import ConflictError, Fault
from gearlife.models import Item
from gearlife.operations.ledger import Entry, record
from inspections.models import NotSeen
from inspections.operations.inspect import moment_of

NOBODYS = "Nobody has this item, so nobody can have left it at home: look for it where it is kept, or mark it missing."


@dataclass(frozen=True)
class NewNotSeen:
    """One item that was not there, at `noted_at` (now when None); `note` says why in a word."""

    item: Item
    noted_at: datetime | None = None
    note: str = ""
    id: UUID | None = None


def note_not_seen(*, new: NewNotSeen, stamp: Stamp) -> NotSeen:
    """Note one; InvalidInputError for a moment to come, ConflictError when nobody has the item."""
    return note_all_not_seen([new], stamp)[0]


@transaction.atomic
def note_all_not_seen(entries: Iterable[NewNotSeen], stamp: Stamp) -> list[NotSeen]:
    """Note many, all or none, in a number of queries that does not grow with them."""
    wanted = list(entries)
    moments = [moment_of(new.noted_at, stamp, "/noted_at") for new in wanted]
    Item.objects.lock(new.item.id for new in wanted)
    assignments = _assignments(new.item.id for new in wanted)
    rows = [
        _row(new, moment, _holder(assignments.get(new.item.id, ()), moment.at), stamp)
        for new, moment in zip(wanted, moments, strict=True)
    ]
    NotSeen.objects.bulk_create(rows)
    record(stamp.actor.organisation_id, [_told(row) for row in rows], stamp)
    return rows


def _assignments(item_ids: Iterable[UUID]) -> Mapping[UUID, Sequence[Assignment]]:
    """Every assignment of these items, those still open first, then the newest."""
    found: dict[UUID, list[Assignment]] = {}
    for each in Assignment.objects.filter(item_id__in=set(item_ids)).order_by("-issued_at", "id"):
        found.setdefault(each.item_id, []).append(each)
    return {id_: sorted(rows, key=lambda row: row.returned_at is not None) for id_, rows in found.items()}


def _holder(assignments: Sequence[Assignment], at: datetime) -> Assignment:
    """Who had it at that moment; where a phone's clock is a little off, who has it now."""
    then = (each for each in assignments if each.issued_at <= at and (not each.returned_at or at < each.returned_at))
    now = (each for each in assignments if not each.returned_at)
    found = next(then, None) or next(now, None)
    if found is None:
        raise ConflictError(NOBODYS, code="nobody_has_it", faults=[Fault(NOBODYS, "/item", "nobody_has_it")])
    return found


def _row(new: NewNotSeen, moment: Moment, holder: Assignment, stamp: Stamp) -> NotSeen:
    row = NotSeen(
        organisation_id=new.item.organisation_id,
        item=new.item,
        player_id=holder.player_id,
        noted_at=moment.at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
        note=new.note,
    )
    row.id = new.id or row.id
    row.read_on(moment)
    return row


def _told(row: NotSeen) -> Entry:
    facts = {"not_seen": row.id, "player": row.player_id, "noted_at": row.noted_at}
    return Entry("not_seen", row.item_id, facts | row.clock_facts)
