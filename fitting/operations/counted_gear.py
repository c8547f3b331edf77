"""Hand out and take back gear that has no serial: by kind and number."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fitting.domain.assignments import recorded_moment
from fitting.domain.counted_gear import CONSUMED, MOST, CountedKind, outstanding
from fitting.models import CountedGear, CountedReturn, Player
from fitting.operations.present import refuse_removed
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.operations.ledger import Entry, record

MORE_THAN_OUT, NOT_TAKEN_BACK = "more_than_out", "not_taken_back"


@dataclass(frozen=True)
class NewCounted:
    """So many pieces of one kind for a player, at `handed_out_at` (now when None)."""

    player: Player
    kind: CountedKind
    count: int = 1
    size: str = ""
    condition_at_issue: str = ""
    handed_out_at: datetime | None = None
    id: UUID | None = None


@dataclass(frozen=True)
class NewReturn:
    """So many pieces of a line that came back, or are lost; all that are still out where no number is given."""

    counted_gear: CountedGear
    count: int | None = None
    lost: bool = False
    condition: str = ""
    returned_at: datetime | None = None
    id: UUID | None = None


@transaction.atomic
def hand_out_counted(*, new: Iterable[NewCounted], stamp: Stamp, places: Sequence[str] = ("",)) -> list[CountedGear]:
    """Hand out lines, all or none; `places` are their pointers. InvalidInputError for a number that nobody means."""
    wanted = list(new)
    refuse_removed(each.player for each in wanted)
    rows = [_line(each, stamp, place) for each, place in zip(wanted, places, strict=True)]
    CountedGear.objects.bulk_create(rows)
    record(stamp.actor.organisation_id, [Entry("counted_handed_out", facts=_told(row)) for row in rows], stamp)
    return rows


@transaction.atomic
def take_back_counted(*, new: Iterable[NewReturn], stamp: Stamp, places: Sequence[str] = ("",)) -> list[CountedReturn]:
    """Take lines back, whole or in part, all or none; ConflictError when more would come back than is out."""
    wanted = list(new)
    lines = _locked(each.counted_gear.id for each in wanted)
    rows = [
        _taken_back(each, lines[each.counted_gear.id], stamp, place) for each, place in zip(wanted, places, strict=True)
    ]
    CountedGear.objects.bulk_update(lines.values(), ["given_back", "lost", "version"])
    CountedReturn.objects.bulk_create(rows)
    entries = [Entry("counted_lost" if row.lost else "counted_returned", facts=_told_back(row)) for row in rows]
    record(stamp.actor.organisation_id, entries, stamp)
    return rows


def _locked(ids: Iterable[UUID]) -> Mapping[UUID, CountedGear]:
    """The lines, read anew under their locks, in id order."""
    lines = CountedGear.objects.filter(id__in=set(ids)).order_by("id").select_for_update(no_key=True)
    return {line.id: line for line in lines}


def _line(new: NewCounted, stamp: Stamp, place: str) -> CountedGear:
    if not 1 <= new.count <= MOST:
        raise InvalidInputError.at(f"{place}/count", f"Write how many, 1 to {MOST}.", "count")
    row = CountedGear(
        organisation_id=new.player.organisation_id,
        player=new.player,
        kind=new.kind.value,
        count=new.count,
        size=new.size,
        condition_at_issue=new.condition_at_issue,
        handed_out_at=recorded_moment(new.handed_out_at, stamp.at, f"{place}/handed_out_at"),
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
    )
    row.id = new.id or row.id
    return row


def _taken_back(new: NewReturn, line: CountedGear, stamp: Stamp, place: str) -> CountedReturn:
    """The row of what came back, and the line's own numbers with it."""
    count = _counted(new, line, place)
    at = recorded_moment(new.returned_at, stamp.at, f"{place}/returned_at")
    if at < line.handed_out_at:
        words = "It cannot have come back before it was handed out."
        raise InvalidInputError.at(f"{place}/returned_at", words, "before_issue")
    if new.lost:
        line.lost += count
    else:
        line.given_back += count
    line.version += 1
    row = CountedReturn(
        organisation_id=line.organisation_id,
        counted_gear=line,
        count=count,
        lost=new.lost,
        condition=new.condition,
        returned_at=at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
    )
    row.id = new.id or row.id
    return row


def _counted(new: NewReturn, line: CountedGear, place: str) -> int:
    """How many come back; ConflictError when fewer are out."""
    if line.kind in CONSUMED:
        raise _refused(
            "A mouthguard is not taken back; nobody else can use it.", f"{place}/counted_gear", NOT_TAKEN_BACK
        )
    left = outstanding(line.kind, line.count, line.given_back, line.lost)
    count = left if new.count is None else new.count
    if count > left or not left:
        words = f"Of these {left} are still out: no more can come back." if left else "None of these is out any more."
        raise _refused(words, f"{place}/count", MORE_THAN_OUT)
    if count < 1:
        raise InvalidInputError.at(f"{place}/count", "Write how many came back, 1 or more.", "count")
    return count


def _refused(words: str, pointer: str, code: str) -> ConflictError:
    return ConflictError(words, code=code, faults=[Fault(words, pointer, code)])


def _told(row: CountedGear) -> dict[str, object]:
    """Ids and numbers alone."""
    return {"counted_gear": row.id, "player": row.player_id, "kind": row.kind, "count": row.count}


def _told_back(row: CountedReturn) -> dict[str, object]:
    return _told(row.counted_gear) | {"count": row.count, "return": row.id, "at": row.returned_at}
