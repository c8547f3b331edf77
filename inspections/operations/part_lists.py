"""What makers say of the parts of their models, entered by an officer; guards by their own labels; the club's rule."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import ProtectedError

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import HoldCause
from gearlife.models import Club, GearModel, Item
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.ledger import Entry, record
from gearlife.operations.settling import settle
from gearlife.operations.unique import insert_unique
from inspections.domain.parts import PartSort, millimetres
from inspections.models import ApprovedPart, Faceguard, PadChange, PadPosition, PartPolicy
from inspections.queries.parts import wearing_now


@dataclass(frozen=True)
class NewPosition:
    """A place for parts on a model."""

    model: GearModel
    code: str
    label: str
    sort: PartSort
    count: int = 1
    required: bool = True
    id: UUID | None = None


@dataclass(frozen=True)
class NewApproved:
    """A part that the maker names for a position, as its booklet calls it."""

    position: PadPosition
    part: str
    maker: str = ""
    size: str = ""
    thickness_mm: float | None = None
    stated_in: str = ""
    id: UUID | None = None


@dataclass(frozen=True)
class NewGuard:
    """A faceguard by its own serial or label, as its own label dates it."""

    club: Club
    label: str
    part: str
    maker: str = ""
    size: str = ""
    certified_on: date | None = None
    label_year: int | None = None
    id: UUID | None = None


@transaction.atomic
def add_position(*, new: NewPosition, stamp: Stamp) -> PadPosition:
    """Add it; ConflictError where the model has one of that code."""
    row = PadPosition(
        organisation_id=stamp.actor.organisation_id,
        model=new.model,
        code=new.code,
        label=new.label.strip(),
        sort=new.sort.value,
        count=new.count,
        required=new.required,
    )
    row.id = new.id or row.id
    insert_unique(row, f"The model has a position `{new.code}` already.")
    record(row.organisation_id, [Entry("position_added", facts=_of_position(row))], stamp)
    return row


@transaction.atomic
def change_position(*, position: PadPosition, changes: Mapping[str, Any], stamp: Stamp) -> PadPosition:
    """Change its label, how many go there, or whether the model needs it."""
    for name, value in changes.items():
        setattr(position, name, value)
    position.version += 1
    position.save()
    record(position.organisation_id, [Entry("position_changed", facts=_of_position(position))], stamp)
    return position


@transaction.atomic
def remove_position(*, position: PadPosition, stamp: Stamp) -> None:
    """Remove one that was entered by mistake; ConflictError once anything was put into it."""
    facts = _of_position(position)
    try:
        with transaction.atomic():
            position.delete()
    except ProtectedError as error:
        words = "Changes of this position are recorded, so it stays; change its words, or that the model needs it."
        raise ConflictError(words, code="in_use") from error
    record(position.organisation_id, [Entry("position_removed", facts=facts)], stamp)


@transaction.atomic
def approve_part(*, new: NewApproved, stamp: Stamp) -> ApprovedPart:
    """Add a part to the maker's list; ConflictError where the position has one of that name."""
    row = ApprovedPart(
        organisation_id=stamp.actor.organisation_id,
        position=new.position,
        part=new.part.strip(),
        part_key=normal_form(new.part),
        maker=new.maker,
        size=new.size.strip(),
        thickness_mm=new.thickness_mm,
        stated_in=new.stated_in,
    )
    row.id = new.id or row.id
    insert_unique(row, f"The part {new.part} is on this list already.")
    record(row.organisation_id, [Entry("part_approved", facts=_of_part(row))], stamp)
    return row


@transaction.atomic
def strike_part(*, part: ApprovedPart, stamp: Stamp) -> None:
    """Take a part from the list; what was put in before stays as it was recorded."""
    facts = _of_part(part)
    part.delete()
    record(part.organisation_id, [Entry("part_struck", facts=facts)], stamp)


@transaction.atomic
def add_guard(*, new: NewGuard, stamp: Stamp) -> Faceguard:
    """Add a guard; ConflictError where the club has one of that label."""
    row = Faceguard(
        organisation_id=new.club.organisation_id,
        club=new.club,
        label=new.label.strip(),
        label_key=normal_form(new.label),
        part=new.part.strip(),
        part_key=normal_form(new.part),
        maker=new.maker,
        size=new.size.strip(),
        certified_on=new.certified_on,
        label_year=new.label_year,
    )
    row.id = new.id or row.id
    insert_unique(row, f"The club has a faceguard {new.label} already.")
    facts = {"faceguard": row.id, "club": row.club_id, "label": row.label, "part": row.part}
    dated = {"certified_on": row.certified_on, "label_year": row.label_year}
    record(row.organisation_id, [Entry("faceguard_added", facts=facts | dated)], stamp)
    return row


@transaction.atomic
def change_guard(*, guard: Faceguard, changes: Mapping[str, Any], stamp: Stamp) -> Faceguard:
    """Complete what is known of a guard, or discard it: that stops the helmet which it is on."""
    places = set(PadChange.objects.filter(faceguard=guard).values_list("item_id", flat=True))
    Item.objects.lock(places)
    for name, value in changes.items():
        setattr(guard, name, value)
    guard.version += 1
    guard.save()
    told = Entry("faceguard_changed", facts={"faceguard": guard.id, **changes})
    worn = [item.id for item in wearing_now([guard]).values()] if changes.get("discarded_on") else []
    if not worn:
        record(guard.organisation_id, [told], stamp)
        return guard
    reason = f"Its faceguard {guard.label} is discarded."
    _, held = open_holds([NewHold(id_, reason, HoldCause.PARTS, origin_id=guard.id) for id_ in worn], stamp)
    settle(worn, [told, *held], stamp)
    return guard


@transaction.atomic
def decide_on_unapproved(*, hold_unapproved: bool, reason: str, stamp: Stamp, id_: UUID | None = None) -> PartPolicy:
    """Decide whether parts that the maker does not approve hold their item from now on; holds that are open stay."""
    row = PartPolicy(
        organisation_id=stamp.actor.organisation_id,
        hold_unapproved=hold_unapproved,
        reason=reason,
        decided_at=stamp.at,
        decided_by_id=stamp.actor.user_id,
    )
    row.id = id_ or row.id
    row.save(force_insert=True)
    facts = {"part_policy": row.id, "hold_unapproved": hold_unapproved, "reason": reason}
    record(row.organisation_id, [Entry("unapproved_parts_decided", facts=facts)], stamp)
    return row


def _of_position(row: PadPosition) -> dict[str, object]:
    of = {"position": row.id, "model": row.model_id, "code": row.code, "label": row.label}
    return of | {"sort": str(row.sort), "count": row.count, "required": row.required}


def _of_part(row: ApprovedPart) -> dict[str, object]:
    of = {
        "position": row.position_id,
        "part": row.part,
        "size": row.size,
        "thickness_mm": millimetres(row.thickness_mm),
    }
    return of | {"stated_in": row.stated_in}
