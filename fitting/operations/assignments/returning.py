"""Take gear back: into the room, its condition noted; the full inspection after it is the gate's business."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fitting.domain.assignments import WENT_MISSING, recorded_moment
from fitting.domain.parts import PARTS, named, unknown
from fitting.models import Assignment
from fitting.operations.assignments.wanted import end, take_back
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import HoldCause, Kind
from gearlife.models import Item
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle


@dataclass(frozen=True)
class Return:
    """The end of one assignment: when (now when None), in what condition and without which parts it came back."""

    assignment: Assignment
    at: datetime | None = None
    condition: str = ""
    missing_parts: Sequence[str] = ()


def return_item(
    *, assignment: Assignment, at: datetime | None, condition: str, stamp: Stamp, missing_parts: Sequence[str] = ()
) -> Assignment:
    """Take one item back into the room; returned already, nothing changes.

    A missing part that nobody may wear it without stops it in the same act.
    """
    return _return([Return(assignment, at, condition, missing_parts)], [""], stamp)[0]


def return_all(returns: Iterable[Return], stamp: Stamp) -> list[Assignment]:
    """Take many back, all or none, settled once."""
    wanted = list(returns)
    return _return(wanted, [f"/{number}" for number in range(len(wanted))], stamp)


@transaction.atomic
def _return(returns: Sequence[Return], places: Sequence[str], stamp: Stamp) -> list[Assignment]:
    locked = {item.id: item for item in Item.objects.locked(each.assignment.item_id for each in returns)}
    # Read anew under the items' locks: somebody may have taken one back meanwhile.
    now_so = Assignment.objects.in_bulk([each.assignment.id for each in returns])
    waiting = [
        (now_so[each.assignment.id], _moment(each, place, stamp), each.condition)
        for each, place in zip(returns, places, strict=True)
        if now_so[each.assignment.id].returned_at is None
    ]
    missing = {each.assignment.id: _missing(each, place) for each, place in zip(returns, places, strict=True)}
    for old, _, _ in waiting:
        old.missing_parts = missing[old.id]
    entries = end(waiting)
    take_back((locked[old.item_id], at) for old, at, _ in waiting)
    _, held = open_holds([hold for old, _, _ in waiting if (hold := _hold(old))], stamp)
    settle([old.item_id for old, _, _ in waiting], entries + held, stamp)
    return [now_so[each.assignment.id] for each in returns]


def end_those_of_missing(*, item_ids: Iterable[UUID], stamp: Stamp) -> list[Entry]:
    """End the open assignments of locked items that nobody can find; the entries, which the caller's act records."""
    out = Assignment.objects.open().filter(item_id__in=list(item_ids)).order_by("id")
    return end([(each, max(stamp.at, each.issued_at), WENT_MISSING) for each in out])


def _missing(each: Return, place: str) -> list[str]:
    """The parts, each once, in the list's order; InvalidInputError for one that this kind of gear does not have."""
    kind = Kind(each.assignment.kind)
    if wrong := unknown(kind, each.missing_parts):
        known = ", ".join(part.code for part in PARTS[kind])
        words = f"`{wrong[0]}` is no part of this kind of gear; there are: {known}."
        raise InvalidInputError.at(f"{place}/missing_parts", words, "unknown_part")
    return [part.code for part in PARTS[kind] if part.code in each.missing_parts]


def _hold(assignment: Assignment) -> NewHold | None:
    """What stops the item: a part is missing that nobody may wear it without."""
    parts = named(assignment.missing_parts, stopping=True)
    if not parts:
        return None
    return NewHold(
        item_id=assignment.item_id,
        reason=f"Came back without: {', '.join(parts)}.",
        cause=HoldCause.FINDING,
        origin_id=assignment.id,
    )


def _moment(each: Return, place: str, stamp: Stamp) -> datetime:
    pointer = f"{place}/returned_at"
    at = recorded_moment(each.at, stamp.at, pointer)
    if at < each.assignment.issued_at:
        raise InvalidInputError.at(pointer, "It cannot have come back before it was handed out.", "before_issue")
    return at
