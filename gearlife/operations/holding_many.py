"""Hold by a maker's notice: a model and its serials, ranges or span of manufacture, in one act.

Until notices have their own place this is how a recall is obeyed: what is affected, and what cannot be shown not to
be, is out of use at once. Each hold ends as any other does, by an act that names it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypeVar
from uuid import UUID

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.affected import BY_NAME, Made, Search, Why
from gearlife.domain.days import local_day
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.spellings import Spellings
from gearlife.domain.vocabulary import HoldCause, Role
from gearlife.models import GearModel, Hold, Item, ItemQuerySet, Manufacturer
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import CHUNK, settle

MOST_AFFECTED = 20_000
T = TypeVar("T")


@dataclass(frozen=True)
class Notice:
    """What is to be held and why; of one model, or of all models of a maker. The reference tells notices apart."""

    search: Search
    reason: str
    reference: str
    manufacturer: Manufacturer
    model: GearModel | None = None
    cause: HoldCause = HoldCause.NOTICE
    serials: Sequence[str] = ()
    asked: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Line:
    """One affected item, why it is, and the hold that the notice has on it, if any yet."""

    item: Item
    why: Why
    hold_id: UUID | None = None


@dataclass
class Outcome:
    """What the notice came to. `released_before`: its hold was ended, item by item, and is not opened again."""

    held: list[Line] = field(default_factory=list)
    already_held: list[Line] = field(default_factory=list)
    released_before: list[Line] = field(default_factory=list)
    retired: list[Line] = field(default_factory=list)
    unknown_serials: list[str] = field(default_factory=list)

    @property
    def stopped(self) -> list[Line]:
        """What the notice keeps out of use."""
        return [*self.held, *self.already_held]


def affected_by(*, notice: Notice, stamp: Stamp) -> Outcome:
    """What `hold_many` would come to now; nothing is changed."""
    ids, unknown = _search(notice, stamp)
    return _sorted(_read(ids), notice, unknown, stamp)


@transaction.atomic
def hold_many(*, notice: Notice, stamp: Stamp) -> Outcome:
    """Hold every affected item in the actor's clubs; asked again, what the notice holds already is held once.

    The number of queries grows with the items only by a few for each 500 of them.
    """
    ids, unknown = _search(notice, stamp)
    items = [item for part in _parts(ids) for item in Item.objects.locked(part)]
    outcome = _sorted(items, notice, unknown, stamp)
    outcome.held, held = _open(outcome.held, notice, stamp)
    # A retired item's has ended as it is opened, and is in force again should the retirement prove to be a mistake.
    outcome.retired, kept = _open(outcome.retired, notice, stamp)
    if entries := [*held, *kept]:
        facts = {**notice.asked, "held": len(outcome.held), "already_held": len(outcome.already_held)}
        touched = [entry.item_id for entry in entries if entry.item_id]
        settle(touched, [Entry("held_many", None, facts), *entries], stamp)
    return outcome


def _search(notice: Notice, stamp: Stamp) -> tuple[list[UUID], list[str]]:
    """The ids of the affected items in order, and the listed serials that nothing bears, nor anything like them."""
    columns = _candidates(notice, stamp).values_list("id", "serial_key", "model_id", "made_earliest", "made_latest")
    ids: list[UUID] = []
    borne = set()
    for id_, serial_key, model_id, earliest, latest in columns.iterator(chunk_size=2000):
        if why := _why(notice, serial_key, model_id, Made(earliest, latest)):
            ids.append(id_)
            if why in BY_NAME:
                borne.add(serial_key)
    if len(ids) > MOST_AFFECTED:
        words = f"more than {MOST_AFFECTED} items would be held at once: name a model, or fewer serials"
        raise InvalidInputError.at("/manufacturer" if notice.model is None else "/model", words, "too_many")
    known = Spellings(borne)
    return ids, [serial for serial in dict.fromkeys(notice.serials) if not known.of(serial)]


def _candidates(notice: Notice, stamp: Stamp) -> ItemQuerySet:
    """The maker's items in the clubs where the actor may hold by notice."""
    items = Item.objects.filter(organisation_id=stamp.actor.organisation_id, manufacturer=notice.manufacturer)
    if not stamp.actor.may_be(Role.ADMINISTRATOR):
        items = items.filter(club_id__in=stamp.actor.club_ids)
    return items.order_by("id")


def _why(notice: Notice, serial_key: str, model_id: UUID, made: Made) -> Why | None:
    """Why the item is affected; a listed serial counts for every model of its maker: it may be registered wrongly."""
    why = notice.search.why(serial_key, made)
    return why if why in BY_NAME or notice.model is None or model_id == notice.model.id else None


def _read(ids: Sequence[UUID]) -> Iterator[Item]:
    for part in _parts(ids):
        yield from Item.objects.filter(id__in=part).select_related("club", "model").order_by("id")


def _sorted(items: Iterable[Item], notice: Notice, unknown: list[str], stamp: Stamp) -> Outcome:
    """The items by what is to be done with them; asked anew of each, for it may have changed before it was locked."""
    outcome = Outcome(unknown_serials=unknown)
    read = list(items)
    known = _holds_of(read, notice, stamp)
    for item in read:
        why = _why(notice, item.serial_key, item.model_id, Made(item.made_earliest, item.made_latest))
        if why is None:
            continue
        hold = known.get(item.id)
        line = Line(item, why, hold.id if hold else None)
        if item.retired_on:
            outcome.retired.append(line)
        elif hold is None:
            outcome.held.append(line)
        else:
            (outcome.released_before if hold.released_at else outcome.already_held).append(line)
    return outcome


def _holds_of(items: Sequence[Item], notice: Notice, stamp: Stamp) -> dict[UUID, Hold]:
    """The hold that this notice has or had on each item, one in force before one that was ended.

    One that is yet to begin stops nothing today, so it does not count.
    """
    found: dict[UUID, Hold] = {}
    for part in _parts(items):
        today = {item.id: _day(item, stamp) for item in part}
        same = Hold.objects.filter(item__in=part, cause=notice.cause.value, reference=notice.reference)
        for hold in same.order_by("id"):
            is_open = hold.released_at is None
            if is_open and hold.starts_on > today[hold.item_id]:
                continue
            if is_open or hold.item_id not in found:
                found[hold.item_id] = hold
    return found


def _open(lines: Sequence[Line], notice: Notice, stamp: Stamp) -> tuple[list[Line], list[Entry]]:
    """Open the notice's hold where a line has none yet; the lines with their holds, and the entries for the ledger."""
    entries: list[Entry] = []
    opened: dict[UUID, UUID] = {}
    for part in _parts([line for line in lines if line.hold_id is None]):
        holds, told = open_holds([_hold(line.item, notice, stamp) for line in part], stamp)
        opened |= {hold.item_id: hold.id for hold in holds}
        entries += told
    return [replace(line, hold_id=line.hold_id or opened[line.item.id]) for line in lines], entries


def _hold(item: Item, notice: Notice, stamp: Stamp) -> NewHold:
    return NewHold(item.id, notice.reason, notice.cause, _day(item, stamp), reference=notice.reference)


def _day(item: Item, stamp: Stamp) -> date:
    """Today, whether it is read on the club's calendar or on the actor's."""
    return min(stamp.day, local_day(stamp.at, item.club.timezone))


def _parts(rows: Sequence[T]) -> Iterator[Sequence[T]]:
    for start in range(0, len(rows), CHUNK):
        yield rows[start : start + CHUNK]
