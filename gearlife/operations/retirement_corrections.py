"""Correct a retirement that was recorded on a mistyped serial: two people, a photo of the serial, and never an issue.

What comes back is stopped: every hold that the retirement ended is in force again, and a further one lasts until the
item was inspected in full. What should have been retired is held as soon as the correction is proposed.
"""

from dataclasses import dataclass

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError, NotPermittedError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Advice, HoldEndsBy, Whereabouts
from gearlife.models import Item, Photo, RetirementCorrection
from gearlife.operations.holds import DEVICE, NewHold, open_holds, reopen_those_of_retired
from gearlife.operations.ledger import Entry
from gearlife.operations.second_person import is_second, propose
from gearlife.operations.settling import settle

CAME_BACK = "Came back from a corrected retirement: it wants a full inspection before anything else."


@dataclass(frozen=True)
class Correction:
    """Why the retirement was a mistake, the photo of this item's serial, and what should have been retired."""

    reason: str
    photo: Photo | None = None
    right_item: Item | None = None
    right_serial: str = ""


@transaction.atomic
def correct_retirement(*, item: Item, new: Correction, stamp: Stamp) -> RetirementCorrection:
    """Propose the correction, or complete another person's; corrected already, nothing changes.

    ConflictError when the item was never retired, or was disposed of: that one stays retired, for what is thought
    destroyed and turns up again is how a bad helmet comes back.
    """
    if stamp.actor.is_device or stamp.actor.user_id is None:
        raise NotPermittedError("Only people take back a retirement, each by an own account.", code=DEVICE)
    right = _right_item(item, new, stamp)
    items = {locked.id: locked for locked in Item.objects.locked({item.id} | ({right.id} if right else set()))}
    item = items[item.id]
    if item.retired_on is None:
        return _corrected_already(item)
    if item.whereabouts == Whereabouts.DISPOSED:
        raise ConflictError("It was disposed of: that retirement stands.", code="disposed")
    waiting = RetirementCorrection.objects.filter(item=item, agreed_at__isnull=True).select_for_update(of=("self",))
    correction: RetirementCorrection | None = waiting.first()
    if correction is None:
        return _propose(item, items[right.id] if right else None, new, stamp)
    _refuse_another(correction, right, new)
    return _complete(item, correction, new.reason, stamp) if is_second(correction, stamp) else correction


def _right_item(item: Item, new: Correction, stamp: Stamp) -> Item | None:
    """What should have been retired, by id or by serial; None when it is not said or not registered."""
    right, key = new.right_item, normal_form(new.right_serial)
    if right is None and key:
        same: list[Item] = list(Item.objects.visible_to(stamp.actor).filter(serial_key=key)[:2])
        if len(same) > 1:
            raise InvalidInputError.at("/right_serial", "More than one maker has this serial: give `right_item`.")
        right = same[0] if same else None
    if right and right.id == item.id:
        place = "/right_item" if new.right_item else "/right_serial"
        raise InvalidInputError.at(place, "That is the item itself: name the one that should have been retired.")
    return right


def _corrected_already(item: Item) -> RetirementCorrection:
    done: RetirementCorrection | None = RetirementCorrection.objects.filter(item=item).order_by("id").last()
    if done is None:
        raise ConflictError("It is not retired: there is nothing to correct.", code="not_retired")
    return done


def _refuse_another(correction: RetirementCorrection, right: Item | None, new: Correction) -> None:
    """Who agrees, agrees to what was proposed."""
    differs = right and right.id != correction.right_item_id
    if differs or (new.right_serial and normal_form(new.right_serial) != normal_form(correction.right_serial)):
        words = "Something else was proposed as what should have been retired; see the item's `retirement_correction`."
        raise ConflictError(words, code="another_proposal", faults=[Fault(words, "", "another_proposal")])


def _propose(item: Item, right: Item | None, new: Correction, stamp: Stamp) -> RetirementCorrection:
    """Write the proposal about a locked, retired item, and hold what was meant."""
    correction = RetirementCorrection(
        organisation_id=item.organisation_id,
        item=item,
        retired_on=item.retired_on or stamp.day,
        retired_reason=item.retired_reason,
        right_item=right,
        right_serial=new.right_serial.strip() or (right.serial if right else ""),
    )
    propose(correction, reason=new.reason, photo=new.photo, of_what="the serial on this item", stamp=stamp)
    correction.save(force_insert=True)
    held = _hold_the_right_one(correction, stamp)
    touched = {item.id, *(entry.item_id for entry in held if entry.item_id)}
    settle(touched, [Entry("retirement_correction_proposed", item.id, _told(correction)), *held], stamp)
    return correction


def _hold_the_right_one(correction: RetirementCorrection, stamp: Stamp) -> list[Entry]:
    """Stopping waits for nobody: what was meant is out of use before the second person agrees."""
    right = correction.right_item
    if right is None or right.retired_on:
        return []
    reason = f"Meant when {correction.item.label} was retired by mistake: {correction.retired_reason}"[:500]
    _, entries = open_holds([NewHold(right.id, reason, origin_id=correction.id, advice=Advice.RETIRE)], stamp)
    return entries


def _complete(item: Item, correction: RetirementCorrection, reason: str, stamp: Stamp) -> RetirementCorrection:
    correction.agreed_at, correction.agreed_by_id, correction.agreed_reason = stamp.at, stamp.actor.user_id, reason
    correction.version += 1
    correction.save()
    item.retired_on, item.retired_reason = None, ""
    item.came_back_at = max(item.came_back_at or stamp.at, stamp.at)
    item.save(update_fields=["retired_on", "retired_reason", "came_back_at"])
    reopened = reopen_those_of_retired(item)
    back = NewHold(item.id, CAME_BACK, origin_id=correction.id, ends_by=HoldEndsBy.FULL_INSPECTION)
    _, held = open_holds([back], stamp)
    settle([item.id], [Entry("retirement_corrected", item.id, _told(correction)), *reopened, *held], stamp)
    return correction


def _told(correction: RetirementCorrection) -> dict[str, object]:
    names = ("retired_on", "retired_reason", "right_serial", "proposed_reason", "agreed_reason")
    people = {"proposed_by": correction.proposed_by_id, "photo": correction.photo_id}
    facts = {name: getattr(correction, name) for name in names}
    return {"correction": correction.id, "right_item": correction.right_item_id} | people | facts
