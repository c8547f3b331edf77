"""Record what was put into a position of an item: what it stops, what it uses, and what other helmet lost its guard."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.device_clocks import Moment
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import HoldCause
from gearlife.models import Item
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from inspections.domain.parts import COUNTED_ONLY, Change, PartSort, Step, millimetres, steps
from inspections.models import ApprovedPart, Faceguard, PadChange, PadPosition
from inspections.operations.inspect import moment_of
from inspections.operations.part_stock import use
from inspections.queries.parts import as_change, changes_of, holds_unapproved

NOT_APPROVED = "{position}: {part} is none of the parts that the maker approves for it."
DISCARDED = "{position}: its faceguard {label} is discarded."
LEFT_WITHOUT = "{position}: nothing is in it, and the model needs it."


@dataclass(frozen=True)
class NewPadChange:
    """What was put into the position of this code; an empty `part` took out what was there.

    A faceguard brings its own part along. What the maker's list says of a part needs not be said again; `count` is of
    parts that are only counted. `as_found`: it was in there already, and is only noted.
    """

    item: Item
    position: str
    part: str = ""
    size: str = ""
    thickness_mm: float | None = None
    count: int | None = None
    faceguard: Faceguard | None = None
    as_found: bool = False
    reason: str = ""
    changed_at: datetime | None = None
    id: UUID | None = None


@dataclass(frozen=True)
class _Checked:
    """A change that can be taken: where, what, and the entry of the maker's list, None where it is not on it."""

    new: NewPadChange
    position: PadPosition
    moment: Moment
    part: str
    listed: ApprovedPart | None
    faults: list[Fault] = field(default_factory=list)


@transaction.atomic
def record_pad_change(*, new: NewPadChange, stamp: Stamp) -> PadChange:
    """Record it; InvalidInputError with every fault. What was found in it needs no reason."""
    checked = _checked(new, stamp)
    places = _lock(new)
    change = _row(checked, stamp)
    change.save(force_insert=True)
    brought = _brought(change, places)
    _, held = open_holds(_holds(change, brought, stamp), stamp)
    if change.part and not change.as_found and not change.faceguard:
        use(change, stamp)
    settle({new.item.id, *brought}, [_told(change), *_lost(change, brought), *held], stamp)
    return change


def _checked(new: NewPadChange, stamp: Stamp) -> _Checked:
    moment = moment_of(new.changed_at, stamp, "/changed_at")
    positions = {row.code: row for row in PadPosition.objects.filter(model_id=new.item.model_id).order_by("id")}
    position = positions.get(new.position)
    if position is None:
        raise InvalidInputError.at("/position", _no_position(positions), "unknown_position")
    part = new.faceguard.part if new.faceguard else new.part.strip()
    listed = position.approved_parts.filter(part_key=normal_form(part)).first() if part else None
    faults = [*_misfits(new, position), *(_unexplained(new, listed) if part else ())]
    if faults:
        raise InvalidInputError("; ".join(fault.detail for fault in faults[:3]), faults=faults)
    return _Checked(new, position, moment, part, listed if _as_listed(new, listed) else None)


def _no_position(known: Mapping[str, PadPosition]) -> str:
    if not known:
        return "No positions of this model are entered yet: enter them from the maker's booklet first (pad-positions)."
    return f"The model has no such position; it has {', '.join(f'`{code}`' for code in known)}."


def _misfits(new: NewPadChange, position: PadPosition) -> Iterator[Fault]:
    """What does not go together: guards elsewhere, counts of what is no count, measures of what is only counted."""
    sort, guard = PartSort(position.sort), new.faceguard
    if guard and sort is not PartSort.FACEGUARD:
        yield Fault("No faceguard goes into this position.", "/faceguard", "other_sort")
    if guard and guard.club_id != new.item.club_id:
        yield Fault("This faceguard is of another club; enter it in this one first.", "/faceguard", "other_club")
    if guard and new.part and normal_form(new.part) != guard.part_key:
        yield Fault(f"This faceguard is a {guard.part}; leave the part out.", "/part", "other_part")
    if sort in COUNTED_ONLY and (new.size or new.thickness_mm is not None):
        yield Fault("This is counted only: it has no size or thickness.", "/thickness_mm", "counted_only")
    if sort not in COUNTED_ONLY and new.count not in (None, position.count):
        yield Fault("Parts of this sort are changed all at once; leave the count out.", "/count", "not_counted")
    if new.count is not None and not 1 <= new.count <= position.count:
        yield Fault(f"At most {position.count} go into this position.", "/count", "too_many")


def _as_listed(new: NewPadChange, listed: ApprovedPart | None) -> bool:
    """Whether what was put in is what the maker's list has under its name."""
    if listed is None:
        return False
    same_size = not new.size or normal_form(new.size) == normal_form(listed.size)
    return same_size and new.thickness_mm in (None, listed.thickness_mm)


def _unexplained(new: NewPadChange, listed: ApprovedPart | None) -> Iterator[Fault]:
    if _as_listed(new, listed) or new.as_found or new.reason.strip():
        return
    if listed:
        words = "The maker's list has this part in another size or thickness. Say as the list does, or give a reason."
    else:
        words = "The maker's list for this position does not have this part. Choose one of its parts, or give a reason."
    yield Fault(words, "/reason", "unapproved_part")


def _lock(new: NewPadChange) -> set[UUID]:
    """Lock the item, and whatever else the guard was on: that may be left without. Gives the ids of all of them."""
    if new.faceguard is None:
        Item.objects.lock([new.item.id])
        return {new.item.id}
    first = {new.item.id, *_places(new.faceguard)}
    Item.objects.lock(first)
    Faceguard.objects.select_for_update().get(id=new.faceguard.id)
    # Whoever held the guard until now may have put it on yet another.
    late = _places(new.faceguard) - first
    Item.objects.lock(late)
    return first | late


def _places(guard: Faceguard) -> set[UUID]:
    return set(PadChange.objects.filter(faceguard=guard).values_list("item_id", flat=True))


def _row(checked: _Checked, stamp: Stamp) -> PadChange:
    new, listed, guard = checked.new, checked.listed, checked.new.faceguard
    stated = listed or guard
    change = PadChange(
        organisation_id=new.item.organisation_id,
        item=new.item,
        position=checked.position,
        part=checked.part,
        part_key=normal_form(checked.part),
        size=new.size.strip() or (stated.size if stated else ""),
        thickness_mm=listed.thickness_mm if listed and new.thickness_mm is None else new.thickness_mm,
        count=new.count or checked.position.count,
        faceguard=guard,
        approved=listed is not None or not checked.part,
        as_found=new.as_found,
        reason=new.reason.strip(),
        changed_at=checked.moment.at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
    )
    change.id = new.id or change.id
    change.read_on(checked.moment)
    return change


def _brought(change: PadChange, places: Iterable[UUID]) -> Mapping[UUID, list[Step]]:
    """What the change brings to light of these items, by item: the steps that nobody knew of before it."""
    found = {}
    for item_id, rows in changes_of(set(places)).items():
        before = {_key(step) for step in steps(item_id, (as_change(row) for row in rows if row.id != change.id))}
        if fresh := [step for step in steps(item_id, map(as_change, rows)) if _key(step) not in before]:
            found[item_id] = fresh
    return found


def _key(step: Step) -> tuple[UUID, UUID, bool]:
    return step.position.id, step.cause.id, step.now is None


def _holds(change: PadChange, brought: Mapping[UUID, list[Step]], stamp: Stamp) -> list[NewHold]:
    """What the new steps say against their items; the change that caused one is its origin."""
    strict, zone = holds_unapproved(stamp.actor.organisation_id), change.item.club.timezone
    # One hold of each change on each item: a guard that goes to another place of its helmet is spoken of twice.
    against: dict[tuple[UUID, Change], list[str]] = defaultdict(list)
    for item_id, fresh in brought.items():
        for step in fresh:
            if words := _against(step, change.faceguard, strict=strict):
                against[item_id, step.cause].append(words)
    return [
        NewHold(item_id, " ".join(words), HoldCause.PARTS, local_day(min(cause.at, stamp.at), zone), origin_id=cause.id)
        for (item_id, cause), words in against.items()
    ]


def _against(step: Step, guard: Faceguard | None, *, strict: bool) -> str:
    if step.is_left_without:
        return LEFT_WITHOUT.format(position=step.position.label)
    if guard and guard.discarded_on and step.now and step.now.fitted.guard == guard.id:
        return DISCARDED.format(position=step.position.label, label=guard.label)
    if strict and step.now and step.is_unapproved:
        return NOT_APPROVED.format(position=step.position.label, part=step.now.fitted.part)
    return ""


def _told(change: PadChange) -> Entry:
    facts: dict[str, object] = {"pad_change": change.id, "position": change.position.label, "part": change.part}
    facts |= {"size": change.size, "thickness_mm": millimetres(change.thickness_mm), "count": change.count}
    facts |= {"approved": change.approved, "as_found": change.as_found, "changed_at": change.changed_at}
    if change.faceguard:
        facts |= {"faceguard": change.faceguard.id, "faceguard_label": change.faceguard.label}
    return Entry("pad_changed", change.item_id, facts | change.clock_facts)


def _lost(change: PadChange, brought: Mapping[UUID, list[Step]]) -> Iterator[Entry]:
    """The helmets that the guard left, by this change or, as it now turns out, by a later one."""
    for item_id, fresh in brought.items():
        for step in fresh:
            if step.now is None and step.cause.item != item_id and step.before and change.faceguard:
                facts = {"pad_change": step.cause.id, "faceguard": change.faceguard.id}
                yield Entry("faceguard_left", item_id, facts | {"faceguard_label": change.faceguard.label})
