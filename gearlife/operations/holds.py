"""Hold and release. Holding never waits for anybody; each hold ends by its own rule, by an act that names it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Advice, CertificationKind, Evidence, HoldCause, HoldEndsBy, ReleaseBasis
from gearlife.models import Certification, Hold, Item, Photo
from gearlife.operations.ledger import Entry
from gearlife.operations.second_person import is_second, propose, withdraw
from gearlife.operations.settling import settle

DEVICE = "device_never_releases"
# What shows that a firm itself took the serial; a club's own file or a guess does not.
SHOWN_BY_THE_FIRM = (Evidence.LABEL.value, Evidence.RECONDITIONERS_FILE.value)
# Which holds are one and the same; one that ends otherwise is another.
SAME = ("cause", "reason", "reference", "starts_on", "ends_by", "named_person_id")
# The person named on a hold is the only one whose act ends it, retired or not.
ENDED_BY_RETIREMENT = ~Q(ends_by=HoldEndsBy.NAMED_PERSON.value)
# Open, or ended by a retirement alone: that one is in force again should the retirement prove to be a mistake.
STANDS = Q(released_at__isnull=True) | Q(release_basis=ReleaseBasis.RETIRED.value)


@dataclass(frozen=True)
class NewHold:
    """A hold to open; `origin_id` names the fact, so that the same fact twice opens one."""

    item_id: UUID
    reason: str
    cause: HoldCause = HoldCause.OFFICER
    starts_on: date | None = None
    deferred: bool = False
    origin_id: UUID | None = None
    ends_by: HoldEndsBy = HoldEndsBy.OFFICER
    advice: Advice = Advice.INSPECT
    reference: str = ""
    named_person_id: UUID | None = None
    told_whom: str = ""
    told_at: datetime | None = None
    id: UUID | None = None


def open_holds(wanted: Iterable[NewHold], stamp: Stamp) -> tuple[list[Hold], list[Entry]]:
    """Insert holds, without settling their items: for acts that do more. Items are locked by the caller."""
    holds = [_hold(new, stamp) for new in wanted]
    origins = {hold.origin_id for hold in holds if hold.origin_id}
    known = set(Hold.objects.filter(origin_id__in=origins).values_list("item_id", "origin_id")) if origins else set()
    fresh = [hold for hold in holds if (hold.item_id, hold.origin_id) not in known]
    Hold.objects.bulk_create(fresh)
    entries = [Entry("held", hold.item_id, _told(hold)) for hold in fresh]
    return fresh, entries + _end_those_of_retired(fresh, stamp)


@transaction.atomic
def hold(*, new: NewHold, stamp: Stamp) -> tuple[Hold, bool]:
    """Take an item out of use; (hold, whether it is new). The same open hold asked for again is the one there is."""
    if new.cause is HoldCause.INCIDENT and not new.named_person_id:
        raise InvalidInputError.at("/named_person", "An incident's hold names the one person who may end it.")
    item = Item.objects.locked([new.item_id])[0]
    asked = _hold(new, stamp)
    same = Hold.objects.filter(STANDS, item=item, **{name: getattr(asked, name) for name in SAME})
    if new.id is None and (known := same.first()):
        return known, False
    fresh, entries = open_holds([new], stamp)
    if not fresh:
        return Hold.objects.get(item=item, origin_id=new.origin_id), False
    settle([item.id], entries, stamp)
    return fresh[0], True


@transaction.atomic
def release(*, hold: Hold, reason: str, basis: ReleaseBasis, photo: Photo | None, stamp: Stamp) -> Hold:
    """End the hold, or propose its end where a second person must agree; released already, nothing changes."""
    if stamp.actor.is_device:
        raise NotPermittedError("A device's own account may hold gear and never release it.", code=DEVICE)
    Item.objects.lock([hold.item_id])
    hold = Hold.objects.select_for_update().get(id=hold.id)
    if hold.released_at:
        return hold
    _refuse_wrong_person_or_ground(hold, basis, stamp)
    if basis is ReleaseBasis.NOT_A_CRACK and not is_second(hold, stamp):
        return _propose(hold, reason, photo, stamp)
    _end(hold, reason, basis, stamp)
    settle([hold.item_id], [Entry("released", hold.item_id, _told(hold))], stamp)
    return hold


def end_by_retirement(item: Item, reason: str, stamp: Stamp) -> list[Entry]:
    """End the open holds of an item that is being retired, but an incident's; the caller settles."""
    entries = []
    for hold in Hold.objects.open().filter(ENDED_BY_RETIREMENT, item=item).order_by("id"):
        _end(hold, reason, ReleaseBasis.RETIRED, stamp)
        entries.append(Entry("released", item.id, _told(hold)))
    return entries


def reopen_those_of_retired(item: Item) -> list[Entry]:
    """Put every hold that the retirement ended, then or later, in force again as it was; the caller settles.

    A proposal that waited for its second person waits no longer: it is made anew, with a new photo.
    """
    entries = []
    for hold in Hold.objects.filter(item=item, release_basis=ReleaseBasis.RETIRED.value).order_by("id"):
        _reopen(hold)
        entries.append(Entry("reopened", item.id, _told(hold)))
    return entries


def end_of_origin(*, item_id: UUID, origin_id: UUID, reason: str, stamp: Stamp) -> list[Entry]:
    """End the open hold that this fact opened, and no other, for the fact proved to be none; the caller settles.

    Who may say so, and on what grounds, is the caller's to ask; the item is locked by the caller.
    """
    entries = []
    for hold in Hold.objects.open().filter(item_id=item_id, origin_id=origin_id):
        _end(hold, reason, ReleaseBasis.DEALT_WITH, stamp)
        entries.append(Entry("released", item_id, _told(hold)))
    return entries


def hold_again(*, new: NewHold, stamp: Stamp) -> list[Entry]:
    """Open the hold of a fact, or put the one that was ended in force as if it never had been; the caller settles."""
    ended = Hold.objects.filter(item_id=new.item_id, origin_id=new.origin_id, released_at__isnull=False)
    for hold in ended.exclude(release_basis=ReleaseBasis.RETIRED.value):
        _reopen(hold)
        return [Entry("held_again", hold.item_id, _told(hold)), *_end_those_of_retired([hold], stamp)]
    return open_holds([new], stamp)[1]


def _end_those_of_retired(holds: Iterable[Hold], stamp: Stamp) -> list[Entry]:
    """A fact that arrives after the retirement leaves what it would have left before it: a hold that has ended."""
    held = [hold.item_id for hold in holds]
    retired = Item.objects.filter(id__in=held, retired_on__isnull=False) if held else Item.objects.none()
    reasons = dict(retired.values_list("id", "retired_reason"))
    late = [hold for hold in holds if hold.item_id in reasons and hold.ends_by != HoldEndsBy.NAMED_PERSON]
    for hold in late:
        _end(hold, reasons[hold.item_id], ReleaseBasis.RETIRED, stamp)
    return [Entry("released", hold.item_id, _told(hold)) for hold in late]


def _reopen(hold: Hold) -> None:
    hold.released_at, hold.released_by_id, hold.release_reason, hold.release_basis = None, None, "", ""
    withdraw(hold)
    hold.version += 1
    hold.save()


def _refuse_wrong_person_or_ground(hold: Hold, basis: ReleaseBasis, stamp: Stamp) -> None:
    if hold.ends_by == HoldEndsBy.NAMED_PERSON and hold.named_person_id != stamp.actor.user_id:
        raise NotPermittedError("Only the person named on this hold may end it.", code="named_person_only")
    if hold.ends_by == HoldEndsBy.FULL_INSPECTION and not _inspected_since(hold):
        words = "It wants a full inspection first, made after this hold was opened: none is recorded."
        raise ConflictError(words, code="no_full_inspection")
    if hold.ends_by != HoldEndsBy.CRACK_RULE:
        if basis is not ReleaseBasis.DEALT_WITH:
            raise InvalidInputError.at("/basis", "This hold is not a shell crack's: release it as `dealt_with`.")
        return
    if basis is ReleaseBasis.RECONDITIONER_ACCEPTED and not _accepted_since(hold):
        raise ConflictError(
            "No recertification of this serial by a reconditioner is recorded after the crack was found.",
            code="no_acceptance_recorded",
        )
    if basis in (ReleaseBasis.DEALT_WITH, ReleaseBasis.RETIRED):
        raise ConflictError(
            "A shell crack is never repaired here. Its hold ends when the item is retired, when a licensed "
            "reconditioner accepts this serial, or as `not_a_crack` with a photo and a second person.",
            code="crack_rule",
        )


def _inspected_since(hold: Hold) -> bool:
    """Whether the item was looked over in full after the hold was opened; what came of that has its own holds."""
    return Item.objects.filter(id=hold.item_id, last_full_inspection_at__gt=hold.opened_at).exists()


def _accepted_since(hold: Hold) -> bool:
    """Whether a licensed firm took and recertified this very serial after the crack was found."""
    accepted = Certification.objects.filter(item_id=hold.item_id, kind=CertificationKind.RECERTIFICATION.value)
    since = accepted.filter(certified_on__gt=hold.opened_at.date(), recorded_at__gte=hold.opened_at)
    return since.filter(evidence__in=SHOWN_BY_THE_FIRM).exclude(firm="").exists()


def _propose(hold: Hold, reason: str, photo: Photo | None, stamp: Stamp) -> Hold:
    if hold.proposed_by_id:
        return hold
    propose(hold, reason=reason, photo=photo, of_what="the place on the shell", stamp=stamp)
    hold.version += 1
    hold.save()
    settle([hold.item_id], [Entry("release_proposed", hold.item_id, _told(hold))], stamp)
    return hold


def _end(hold: Hold, reason: str, basis: ReleaseBasis, stamp: Stamp) -> None:
    hold.released_at, hold.released_by_id = stamp.at, stamp.actor.user_id
    hold.release_reason, hold.release_basis = reason, basis.value
    hold.version += 1
    hold.save()


def _hold(new: NewHold, stamp: Stamp) -> Hold:
    hold = Hold(
        organisation_id=stamp.actor.organisation_id,
        item_id=new.item_id,
        cause=new.cause.value,
        reason=new.reason,
        reference=new.reference,
        origin_id=new.origin_id,
        advice=new.advice.value,
        starts_on=new.starts_on or stamp.day,
        deferred=new.deferred,
        opened_at=stamp.at,
        opened_by_id=stamp.actor.user_id,
        ends_by=(HoldEndsBy.NAMED_PERSON if new.named_person_id else new.ends_by).value,
        named_person_id=new.named_person_id,
        told_whom=new.told_whom,
        told_at=new.told_at,
    )
    hold.id = new.id or hold.id
    return hold


def _told(hold: Hold) -> dict[str, object]:
    told: dict[str, object] = {"hold": hold.id, "cause": str(hold.cause), "reason": hold.reason}
    told["starts_on"] = hold.starts_on
    if hold.proposed_by_id:
        told |= {"proposed_by": hold.proposed_by_id, "proposed_reason": hold.proposed_reason, "photo": hold.photo_id}
    if hold.released_at:
        told |= {"release_reason": hold.release_reason, "basis": str(hold.release_basis)}
    return told
