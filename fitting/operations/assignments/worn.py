"""Record what a player wears already. The fact is never refused; what could not have been issued is a stop at once."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from uuid import UUID

from fitting.domain.assignments import (
    CONCERN_FAILED,
    FOUND_WITH_ANOTHER,
    HAS_ANOTHER,
    MADE_FOR_ANOTHER,
    OTHER_CLUB,
    OVERTAKEN,
    REPLACED,
)
from fitting.domain.vocabulary import RecordedAs
from fitting.models import Assignment
from fitting.operations.assignments.wanted import (
    NewAssignment,
    Out,
    Wanted,
    end,
    insert,
    lock,
    many,
    one,
    take_back,
    told_at_issue,
)
from fitting.operations.set_asides import end_at_issue
from fitting.queries.made_for import made_for_another
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault
from gearlife.domain.vocabulary import Whereabouts
from gearlife.operations import items
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from gearlife.queries.gate import Verdict, verdicts

Ends = dict[UUID, tuple[Assignment, datetime, str]]
Reasons = list[dict[str, str]]


def record_worn(*, new: NewAssignment, stamp: Stamp) -> Assignment:
    """Record that a player wears an item; ConflictError only when that very fact is recorded under another id."""
    return one(_attempt, new, stamp)


def record_already_worn(new: Iterable[NewAssignment], stamp: Stamp) -> list[Assignment]:
    """Record many such facts, all or none, settled once; one that is recorded already is given as it stands."""
    return many(_attempt, new, stamp)


def _attempt(new: Sequence[NewAssignment], places: Sequence[str], stamp: Stamp) -> list[Assignment]:
    wanted, out = lock(new, places, stamp)
    known = {each.item.id: out.of_item[each.item.id] for each in wanted if _is_known(each, out)}
    known |= _history(each for each in wanted if each.item.id not in known)
    fresh = [each for each in wanted if each.item.id not in known]
    past = {each.item.id: until for each in fresh if (until := _overtaken_at(each, out))}
    current = [each for each in fresh if each.item.id not in past]
    ends = _ends(current, out)
    entries = end(ends.values()) + _take_back(current, ends)
    rows = _rows(fresh, stamp)
    for item_id, until in past.items():
        rows[item_id].returned_at, rows[item_id].condition_at_return = until, OVERTAKEN
    insert(rows.values())
    items.hand_out((each.item, each.new.player.team) for each in current)
    entries += [Entry("found_worn", row.item_id, _told(row)) for row in rows.values()]
    entries += end_at_issue((rows[each.item.id] for each in current), stamp)
    settle({*rows, *(old.item_id for old, _, _ in ends.values())}, entries, stamp)
    return [(known | rows)[each.item.id] for each in wanted]


def _history(wanted: Iterable[Wanted]) -> dict[UUID, Assignment]:
    """What is recorded of these facts as history already, by item: a late record sent again adds nothing."""
    asked = {(each.item.id, each.new.player.id, each.at, each.new.loan): each for each in wanted}
    ended = Assignment.objects.filter(
        item_id__in={item_id for item_id, *_ in asked},
        recorded_as=RecordedAs.ALREADY_WORN.value,
        returned_at__isnull=False,
    )
    known = {}
    for row in ended.order_by("returned_at", "id"):
        if each := asked.get((row.item_id, row.player_id, row.issued_at, row.loan)):
            _refuse_second_id(each)
            known[row.item_id] = row
    return known


def _refuse_second_id(each: Wanted) -> None:
    if each.new.id is not None:
        words = "It is recorded with this player already."
        raise ConflictError(words, code="recorded_already", faults=[Fault(words, f"{each.place}/item", "already_out")])


def _is_known(each: Wanted, out: Out) -> bool:
    """Whether the records say the same already."""
    old = out.of_item.get(each.item.id)
    if old is None or old.player_id != each.new.player.id or old.loan != each.new.loan:
        return False
    _refuse_second_id(each)
    return True


def _overtaken_at(each: Wanted, out: Out) -> datetime | None:
    """When what is recorded as newer began: an older fact that arrives late is history, and moves nothing."""
    rivals = (out.of_item.get(each.item.id), out.of_player.get(each.player_key))
    return min((rival.issued_at for rival in rivals if rival and rival.issued_at > each.at), default=None)


def _ends(fresh: Iterable[Wanted], out: Out) -> Ends:
    """What the facts end: the item's assignment to whoever had it, and the player's to the one worn until now."""
    ends: Ends = {}
    for each in fresh:
        for old, condition in (
            (out.replaced_by(each), REPLACED),
            (out.of_item.get(each.item.id), FOUND_WITH_ANOTHER),
            (out.of_player.get(each.player_key), HAS_ANOTHER),
        ):
            if old and old.id not in ends:
                ends[old.id] = (old, each.at, condition)
    return ends


def _take_back(fresh: Iterable[Wanted], ends: Ends) -> list[Entry]:
    """Where the items were till then. What came to a player past the room is asked as if it had just come back."""
    worn = {each.item.id for each in fresh}
    left = [(old.item, at, condition) for old, at, condition in ends.values() if old.item_id not in worn]
    lost = [(item, at) for item, at, condition in left if condition != REPLACED]
    take_back(lost, to=Whereabouts.MISSING)
    take_back((item, at) for item, at, condition in left if condition == REPLACED)
    moments = {old.item_id: at for old, at, _ in ends.values()}
    elsewhere = [each for each in fresh if each.item.whereabouts != Whereabouts.STOCK]
    take_back((each.item, moments.get(each.item.id, each.at)) for each in elsewhere)
    return [Entry("marked_missing", item.id) for item, _ in lost]


def _rows(fresh: Sequence[Wanted], stamp: Stamp) -> dict[UUID, Assignment]:
    """The new rows by item, each with what the gate would have said."""
    verdict_of = verdicts([each.item.id for each in fresh], stamp.day)
    foreign = made_for_another([(each.item, each.new.player.id) for each in fresh])
    rows = {}
    for each in fresh:
        row = rows[each.item.id] = each.row(stamp, RecordedAs.ALREADY_WORN)
        row.reasons_against = _reasons(verdict_of[each.item.id], each, foreign)
        row.could_not_be_issued = bool(row.reasons_against)
    return rows


def _reasons(verdict: Verdict, each: Wanted, foreign: set[UUID]) -> Reasons:
    reasons = [{"code": hit.kind, "detail": hit.because} for hit in verdict.against]
    if verdict.unanswered:
        words = f"The records could not be asked about {', '.join(verdict.unanswered)}."
        reasons.append({"code": CONCERN_FAILED, "detail": words})
    if each.item.id in foreign:
        reasons.append({"code": MADE_FOR_ANOTHER, "detail": "It was made for another player."})
    if each.item.club_id != each.new.player.club_id:
        reasons.append({"code": OTHER_CLUB, "detail": "It is another club's than the player."})
    return reasons


def _told(row: Assignment) -> dict[str, object]:
    against = [reason["code"] for reason in row.reasons_against]
    return told_at_issue(row) | {"could_not_be_issued": row.could_not_be_issued, "against": against}
