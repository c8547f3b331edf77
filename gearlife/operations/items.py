"""Items: register, change, mark missing, found, retire; and what the packages above report of them."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import cast
from uuid import UUID

from django.db import IntegrityError, transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.tags import tags
from gearlife.domain.vocabulary import Anchor, Evidence, Whereabouts
from gearlife.models import Club, GearModel, Item, Team
from gearlife.operations import holds
from gearlife.operations.item_misfits import refuse_misfits, refuse_unreadable
from gearlife.operations.ledger import Entry
from gearlife.operations.namesakes import hold_namesake
from gearlife.operations.settling import settle
from gearlife.signals import items_went_missing

# By these a file finds what it names: renamed, a retired serial could be taken in again as something new.
NAMED_BY = frozenset({"serial", "tag", "model"})


MOMENTS = {
    Anchor.LOOK: "last_look_at",
    Anchor.FULL_INSPECTION: "last_full_inspection_at",
    Anchor.AIR_CHECK: "last_air_check_at",
    Anchor.REFIT: "last_refit_at",
    Anchor.CAME_BACK: "came_back_at",
}


@dataclass(frozen=True)
class NewItem:
    """An item to register. Without a serial the maker's cannot be read: the tag names it, made here when not given."""

    club: Club
    model: GearModel
    serial: str = ""
    tag: str = ""
    size: str = ""
    colour: str = ""
    notes: str = ""
    made_on: PartialDate | None = None
    made_on_evidence: Evidence = Evidence.UNKNOWN
    acquired_on: date | None = None
    team: Team | None = None
    add_ons: list[str] = field(default_factory=list)
    made_for_one_player: bool = False
    id: UUID | None = None


@transaction.atomic
def register(*, new: NewItem, stamp: Stamp) -> Item:
    """Take one item in; ConflictError when the maker's serial or the tag is known already.

    Named like one that is retired or stopped it is taken in with a hold: the same helmet may be typed anew.
    """
    item = build(new, stamp)
    try:
        with transaction.atomic():
            item.save(force_insert=True)
    except IntegrityError as error:
        raise _taken(item) from error
    settle([item.id], [Entry("registered", item.id, told(item)), *hold_namesake(item, stamp)], stamp)
    return item


def build(new: NewItem, stamp: Stamp) -> Item:
    """The row of a new item, not yet written; InvalidInputError when its days contradict each other."""
    refuse_impossible_days(new.made_on, new.acquired_on, stamp.day)
    refuse_unreadable(serial=new.serial, tag=new.tag)
    item = Item(
        organisation_id=new.club.organisation_id,
        club=new.club,
        team=new.team,
        manufacturer_id=new.model.manufacturer_id,
        model=new.model,
        kind=new.model.kind,
        serial=new.serial.strip(),
        serial_key=normal_form(new.serial),
        tag=new.tag.strip() or ("" if new.serial.strip() else next_tag(new.club)),
        size=size_of(new.model, new.size),
        colour=new.colour,
        notes=new.notes,
        acquired_on=new.acquired_on,
        taken_in_on=stamp.day,
        add_ons=new.add_ons,
        made_for_one_player=new.made_for_one_player,
    )
    item.id = new.id or item.id
    item.tag_key = normal_form(item.tag)
    set_made_on(item, new.made_on, new.made_on_evidence)
    return item


def refuse_impossible_days(made_on: PartialDate | None, acquired_on: date | None, day: date) -> None:
    """InvalidInputError when made or acquired in the future, or acquired before it can have been made."""
    if made_on and made_on.earliest > day:
        raise InvalidInputError.at("/made_on", "It cannot have been made in the future.")
    if acquired_on and acquired_on > day:
        raise InvalidInputError.at("/acquired_on", "It cannot have been acquired in the future.")
    if made_on and acquired_on and made_on.earliest > acquired_on:
        raise InvalidInputError.at("/made_on", f"It was acquired on {acquired_on}, before it can have been made.")


def set_made_on(item: Item, made_on: PartialDate | None, evidence: Evidence) -> None:
    """Write a date of manufacture onto the row: its text, its first and last possible day, how it is known."""
    item.made_on = str(made_on) if made_on else ""
    item.made_earliest = made_on.earliest if made_on else None
    item.made_latest = made_on.latest if made_on else None
    item.made_on_evidence = evidence.value if made_on else Evidence.UNKNOWN.value


def size_of(model: GearModel, size: str) -> str:
    """The size as the model's catalogue spells it; as given where it is new there."""
    return next((known for known in model.sizes if normal_form(known) == normal_form(size)), size.strip())


def next_tag(club: Club) -> str:
    """A tag of the club that nothing bears yet, with its check character."""
    return next(free_tags(club))


def free_tags(club: Club) -> Iterator[str]:
    """The club's tags that nothing bears yet, one after the other."""
    prefix = tag_prefix(club)
    start = Item.objects.filter(organisation_id=club.organisation_id, tag_key__startswith=prefix).count() + 1
    taken = set(
        Item.objects.filter(organisation_id=club.organisation_id).exclude(tag_key="").values_list("tag_key", flat=True)
    )
    return (tag for tag in tags(prefix, start) if tag not in taken)


def tag_prefix(club: Club) -> str:
    """What the club's tags begin with: letters and digits of its code, at most four; T where it has none."""
    plain = [character for character in normal_form(club.code) if character.isascii() and character.isalnum()]
    return "".join(plain)[:4] or "T"


@transaction.atomic
def change(*, item: Item, changes: Mapping[str, object], stamp: Stamp) -> Item:
    """Change recorded facts; the ledger keeps what they were. A date of manufacture needs its evidence."""
    [item] = Item.objects.locked([item.id])
    refuse_misfits(item, changes)
    before, named = told(item), item.serial_key or item.tag_key
    for name, value in changes.items():
        if name not in ("made_on", "made_on_evidence"):
            setattr(item, name, value)
    item.manufacturer_id = item.model.manufacturer_id
    if changes.keys() & {"made_on", "made_on_evidence"}:
        _change_made_on(item, changes)
    if changes.keys() & {"made_on", "acquired_on"}:
        refuse_impossible_days(_made_on(item), item.acquired_on, stamp.day)
    refuse_unreadable(serial=item.serial, tag=item.tag)
    item.size = size_of(item.model, item.size)
    item.serial_key, item.tag_key = normal_form(item.serial), normal_form(item.tag)
    if not item.serial_key and not item.tag_key:
        raise InvalidInputError.at("/serial", "Without a serial the item needs its tag: nothing else would name it.")
    after = told(item)
    changed = {name: [before[name], after[name]] for name in after if before[name] != after[name]}
    if not changed:
        return item
    _refuse_another_name(item, changed)
    try:
        with transaction.atomic():
            item.save()
    except IntegrityError as error:
        raise _taken(item) from error
    held = hold_namesake(item, stamp) if named != (item.serial_key or item.tag_key) else []
    settle([item.id], [Entry("changed", item.id, changed), *held], stamp)
    return item


def _refuse_another_name(item: Item, changed: Mapping[str, list[object]]) -> None:
    """What names a retired item stays; a name that it lacked may still be written down."""
    if item.retired_on and any(changed[name][0] for name in changed.keys() & NAMED_BY):
        words = "A retired item keeps its serial, tag and model. Was the retirement a mistake? Correct that first."
        raise ConflictError(words, code="retired_keeps_its_name")


def _change_made_on(item: Item, changes: Mapping[str, object]) -> None:
    made_on, evidence = changes.get("made_on", _made_on(item)), changes.get("made_on_evidence")
    if made_on and evidence in (None, Evidence.UNKNOWN):
        raise InvalidInputError.at("/made_on_evidence", "Say how the date of manufacture is known.")
    set_made_on(
        item,
        made_on if isinstance(made_on, PartialDate) else None,
        evidence if isinstance(evidence, Evidence) else Evidence.UNKNOWN,
    )


def _made_on(item: Item) -> PartialDate | None:
    return PartialDate.parse(item.made_on) if item.made_on else None


@transaction.atomic
def mark_missing(*, item: Item, stamp: Stamp) -> Item:
    """Nobody knows where it is; whoever had it is no longer its holder."""
    [item] = Item.objects.locked([item.id])
    if item.whereabouts == Whereabouts.MISSING:
        return item
    item.whereabouts = Whereabouts.MISSING.value
    item.save(update_fields=["whereabouts"])
    told_by_others = items_went_missing.send(sender=None, item_ids=[item.id], stamp=stamp)
    ended = [entry for _, entries in told_by_others for entry in cast("list[Entry]", entries)]
    settle([item.id], [Entry("marked_missing", item.id), *ended], stamp)
    return item


@transaction.atomic
def found(*, item: Item, stamp: Stamp) -> Item:
    """It is back in the room, and wants a full inspection before it goes out again."""
    [item] = Item.objects.locked([item.id])
    if item.whereabouts == Whereabouts.STOCK:
        return item
    if item.whereabouts != Whereabouts.MISSING:
        raise ConflictError("It is not recorded as missing, so there is nothing to find.", code="not_missing")
    item.whereabouts, item.came_back_at = Whereabouts.STOCK.value, stamp.at
    item.save(update_fields=["whereabouts", "came_back_at"])
    settle([item.id], [Entry("found", item.id)], stamp)
    return item


@transaction.atomic
def retire(*, item: Item, reason: str, on: date | None, stamp: Stamp) -> Item:
    """Retire for good: no file brings it back, and no act but a correction by two people. Its holds end with it."""
    [item] = Item.objects.locked([item.id])
    if item.retired_on:
        return item
    item.retired_on, item.retired_reason = on or stamp.day, reason
    if item.retired_on > stamp.day:
        raise InvalidInputError.at("/on", "The day of retirement cannot be in the future.")
    item.save(update_fields=["retired_on", "retired_reason"])
    ended = holds.end_by_retirement(item, reason, stamp)
    settle([item.id], [Entry("retired", item.id, {"on": item.retired_on, "reason": reason}), *ended], stamp)
    return item


def hand_out(items: Iterable[tuple[Item, Team | None]]) -> None:
    """Move locked items to players, each with the player's team where that is one of the item's club's.

    The caller has passed the gate, or records what is so already, and settles.
    """
    moved = []
    for item, team in items:
        item.whereabouts = Whereabouts.PLAYER.value
        if team and team.club_id == item.club_id:
            item.team = team
        moved.append(item)
    Item.objects.bulk_update(moved, ["whereabouts", "team"], batch_size=200)


def take_back(items: Iterable[Item], *, at: datetime, to: Whereabouts = Whereabouts.STOCK) -> None:
    """Move locked items from players to the room (or wherever they are said to be); the caller settles."""
    moved = list(items)
    for item in moved:
        item.whereabouts = to.value
        item.came_back_at = max(item.came_back_at or at, at)
    Item.objects.bulk_update(moved, ["whereabouts", "came_back_at"], batch_size=200)


def mark(items: Iterable[Item], anchor: Anchor, moments: Mapping[UUID, datetime], stamp: Stamp) -> None:
    """Move an anchor of locked items to the latest recorded moment, never past now; the caller settles."""
    name = MOMENTS[anchor]
    moved = []
    for item in items:
        moment = min(moments[item.id], stamp.at)
        if (getattr(item, name) or moment) <= moment:
            setattr(item, name, moment)
            moved.append(item)
    Item.objects.bulk_update(moved, [name], batch_size=200)


def told(item: Item) -> dict[str, object]:
    """What the ledger says of an item's recorded facts."""
    names = ("serial", "tag", "size", "colour", "notes", "made_on", "made_on_evidence", "acquired_on", "add_ons")
    facts: dict[str, object] = {name: getattr(item, name) for name in names}
    links = {"kind": str(item.kind), "model": item.model_id, "club": item.club_id, "team": item.team_id}
    return facts | links | {"made_for_one_player": item.made_for_one_player}


def _taken(item: Item) -> ConflictError:
    """Which of the two names is another item's."""
    same = Item.objects.filter(manufacturer_id=item.manufacturer_id, serial_key=item.serial_key).exclude(id=item.id)
    if item.serial_key and same.exists():
        return _conflict("/serial", f"The maker's serial {item.serial} is registered already.", "serial_taken")
    return _conflict("/tag", f"The tag {item.tag} is on another item already.", "tag_taken")


def _conflict(pointer: str, detail: str, code: str) -> ConflictError:
    return ConflictError(detail, code=code, faults=[Fault(detail, pointer, code)])
