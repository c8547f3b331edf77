"""Issue gear: the gate is asked in the issuing transaction, under the items' locks; every reason against is given."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from uuid import UUID

from fitting.domain.assignments import CONCERN_FAILED, MADE_FOR_ANOTHER, OTHER_CLUB, REPLACED, refuse_late_issue
from fitting.domain.fit_gate import FIT_ACCEPTED, OfPair
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
from fitting.operations.fits import told, write_fit
from fitting.operations.set_asides import end_at_issue
from fitting.queries.fit_gate import fits_of_pairs
from fitting.queries.made_for import made_for_another
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault
from gearlife.operations import items
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from gearlife.queries.gate import Verdict, verdicts_about
from gearlife.queries.recorded import read

NOT_ISSUABLE, ALREADY_OUT, PLAYER_HAS_ONE = "not_issuable", "already_out", "player_has_one"
# What the gate says of an item that is out is said better by naming its assignment.
NOT_IN_STOCK = "not_in_stock"


def issue(*, new: NewAssignment, stamp: Stamp) -> Assignment:
    """Hand one item out; ConflictError with every reason when it may not be issued, or not to this player."""
    return one(_attempt, new, stamp)


def issue_all(new: Iterable[NewAssignment], stamp: Stamp) -> list[Assignment]:
    """Hand many out, all or none, in a fixed number of queries; pointers begin with the place in the list."""
    return many(_attempt, new, stamp)


def _attempt(new: Sequence[NewAssignment], places: Sequence[str], stamp: Stamp) -> list[Assignment]:
    wanted, out = lock(new, places, stamp)
    for each in wanted:
        refuse_late_issue(each.at, stamp.at, f"{each.place}/issued_at")
    fits = [write_fit(each.new.fit, each.item, stamp, f"{each.place}/fit") for each in wanted if each.new.fit]
    warned = _refuse(wanted, out, stamp)
    replaced = [(old, each) for each in wanted if (old := out.replaced_by(each))]
    ended = end((old, each.at, REPLACED) for old, each in replaced)
    take_back((old.item, each.at) for old, each in replaced)
    rows = insert(_row(each, warned, stamp) for each in wanted)
    items.hand_out((each.item, each.new.player.team) for each in wanted)
    issued = [Entry("issued", row.item_id, told_at_issue(row)) for row in rows]
    entries = [*map(told, fits), *ended, *issued, *end_at_issue(rows, stamp)]
    settle({each.item.id for each in wanted} | {old.item_id for old, _ in replaced}, entries, stamp)
    by_item = {row.item_id: row for row in rows}
    return [by_item[each.item.id] for each in wanted]


def _row(each: Wanted, warned: Mapping[UUID, OfPair], stamp: Stamp) -> Assignment:
    """The assignment, with what was said of the pair and let it go."""
    row = each.row(stamp, RecordedAs.ISSUED)
    if said := warned.get(each.item.id):
        row.warnings = [{"code": FIT_ACCEPTED, "detail": said.words}]
    return row


def _refuse(wanted: Sequence[Wanted], out: Out, stamp: Stamp) -> Mapping[UUID, OfPair]:
    """ConflictError unless nothing at all speaks against any of them; the warnings about pairs, by item."""
    about = read([each.item.id for each in wanted], stamp.day)
    verdict_of = verdicts_about(about, stamp.day)
    pairs = [(each.item.id, each.new.player.id) for each in wanted]
    lent = [pair for pair, each in zip(pairs, wanted, strict=True) if each.new.loan]
    of_pairs = fits_of_pairs(pairs, about, stamp.day, lent)
    said = {item_id: of_pair for (item_id, _), of_pair in of_pairs.items()}
    foreign = made_for_another([(each.item, each.new.player.id) for each in wanted])
    faults: list[Fault] = []
    for each in wanted:
        faults += _against_pair(each, out)
        faults += _against_item(each, verdict_of[each.item.id], out)
        if each.item.id in foreign:
            words = "It was made for another player and goes to nobody else."
            faults.append(Fault(words, f"{each.place}/item", MADE_FOR_ANOTHER))
        if (of_pair := said.get(each.item.id)) and of_pair.bars:
            faults.append(Fault(of_pair.words, f"{each.place}/item", FIT_ACCEPTED))
    if faults:
        raise ConflictError(_summary(faults), code=_code(faults), faults=faults)
    return said


def _against_item(each: Wanted, verdict: Verdict, out: Out) -> Iterator[Fault]:
    pointer = f"{each.place}/item"
    for hit in verdict.against:
        if not (hit.kind == NOT_IN_STOCK and each.item.id in out.of_item):
            yield Fault(hit.because, pointer, hit.kind)
    for kind in verdict.unanswered:
        words = f"The records could not be asked about `{kind}`; nothing is issued until they answer."
        yield Fault(words, pointer, CONCERN_FAILED)


def _against_pair(each: Wanted, out: Out) -> Iterator[Fault]:
    """What the assignments that are out say against this one."""
    if holder := out.of_item.get(each.item.id):
        whose = "this player" if holder.player_id == each.new.player.id else "another player"
        yield Fault(f"It is out already, to {whose}: take it back first.", f"{each.place}/item", ALREADY_OUT)
    has = out.of_player.get(each.player_key)
    if has and has.id != each.new.replaces_id and has.item_id != each.item.id:
        kind = str(each.item.kind).replace("_", " ")
        words = (
            f"This player has a {kind} already ({has.item.label}): take it back first, or hand this one out in its "
            "place."
        )
        yield Fault(words, f"{each.place}/player", PLAYER_HAS_ONE)
    if each.item.club_id != each.new.player.club_id:
        yield Fault("The item is another club's than the player.", f"{each.place}/item", OTHER_CLUB)


def _code(faults: Iterable[Fault]) -> str:
    """The one code that all reasons share where it says who has what; else that it is not issuable."""
    codes = {fault.code for fault in faults}
    return codes.pop() if codes in ({ALREADY_OUT}, {PLAYER_HAS_ONE}) else NOT_ISSUABLE


def _summary(faults: Sequence[Fault]) -> str:
    more = len(faults) - 1
    return "It may not be issued. " + faults[0].detail + (f" And {more} more." if more else "")
