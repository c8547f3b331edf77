"""A retirement on a mistyped serial is taken back by two people with a photo, and what comes back is stopped."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from gearlife.domain.access import Actor
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Anchor, HoldCause, HoldEndsBy, ReleaseBasis, Standing, Whereabouts
from gearlife.models import Alert, Hold, Item, RetirementCorrection
from gearlife.operations import holds, items
from gearlife.operations.retirement_corrections import CAME_BACK, Correction, correct_retirement
from gearlife.queries.gate import verdicts
from gearlife.queries.history import history_of
from tests.factories import AT, DAY, ItemFactory, add_rule, device, later, officer, photo, put_on, stamp
from tests.gearlife.operations.hold_acts import new, refusal, released, standing

pytestmark = pytest.mark.django_db


@dataclass
class Mistake:
    """A retired item and two officers of its club."""

    item: Item
    first: Actor
    second: Actor

    def correct(self, by: Actor, **said: Any) -> RetirementCorrection:
        """One person's call."""
        reason = said.pop("reason", "The 6 is an 8.")
        return correct_retirement(item=self.item, new=Correction(reason, **said), stamp=stamp(by))

    def corrected(self, **said: Any) -> RetirementCorrection:
        """Both calls."""
        self.correct(self.first, photo=photo(self.item.club), **said)
        correction = self.correct(self.second)
        self.item.refresh_from_db()
        return correction


def mistake(item: Item | None = None) -> Mistake:
    """An item that was retired by mistake."""
    item = item or ItemFactory.create()
    items.retire(item=item, reason="shell cracked", on=None, stamp=stamp(item.organisation))
    return Mistake(item, officer(item.club), officer(item.club))


def open_reasons(item: Item) -> set[str]:
    return set(Hold.objects.in_force(DAY).filter(item=item).values_list("reason", flat=True))


# Two people


def test_the_first_call_changes_nothing_but_that_it_is_proposed() -> None:
    case = mistake()
    proposed = case.correct(case.first, photo=photo(case.item.club))

    assert (proposed.proposed_by_id, proposed.agreed_at) == (case.first.user_id, None)
    assert standing(case.item) == Standing.RETIRED


def test_without_a_photo_of_the_serial_nothing_is_proposed() -> None:
    case = mistake()
    with pytest.raises(InvalidInputError) as refused:
        case.correct(case.first)

    assert refused.value.faults[0].pointer == "/photo"
    assert not RetirementCorrection.objects.exists()


def test_who_proposed_never_completes() -> None:
    case = mistake()
    for _ in range(3):
        case.correct(case.first, photo=photo(case.item.club))

    assert standing(case.item) == Standing.RETIRED
    assert RetirementCorrection.objects.count() == 1


def test_another_persons_call_completes_and_both_are_kept() -> None:
    case = mistake()
    correction = case.corrected()

    assert (correction.proposed_by_id, correction.agreed_by_id) == (case.first.user_id, case.second.user_id)
    assert (correction.retired_on, correction.retired_reason) == (DAY, "shell cracked")
    assert (case.item.retired_on, case.item.retired_reason) == (None, "")


def test_the_database_itself_refuses_one_person_for_both() -> None:
    case = mistake()
    correction = case.correct(case.first, photo=photo(case.item.club))
    same = RetirementCorrection.objects.filter(id=correction.id)

    with pytest.raises(IntegrityError), transaction.atomic():
        same.update(agreed_at=AT, agreed_by_id=case.first.user_id)


def test_no_device_and_no_program_takes_part() -> None:
    case = mistake()
    for by in (stamp(device(case.item.club)), stamp(case.item.organisation)):
        with pytest.raises(NotPermittedError):
            correct_retirement(item=case.item, new=Correction("x", photo(case.item.club)), stamp=by)

    case.correct(case.first, photo=photo(case.item.club))
    with pytest.raises(NotPermittedError):
        case.correct(device(case.item.club))
    assert standing(case.item) == Standing.RETIRED


def test_once_corrected_a_repeated_call_changes_nothing() -> None:
    case = mistake()
    correction = case.corrected()
    again = [case.correct(by, photo=photo(case.item.club)) for by in (case.first, case.second)]

    assert {each.id for each in again} == {correction.id}
    assert Hold.objects.filter(item=case.item).count() == 1


def test_what_was_never_retired_has_nothing_to_correct() -> None:
    item = ItemFactory.create()
    with pytest.raises(ConflictError) as refused:
        correct_retirement(item=item, new=Correction("x", photo(item.club)), stamp=stamp(officer(item.club)))

    assert refused.value.code == "not_retired"


def test_what_was_disposed_of_stays_retired() -> None:
    case = mistake()
    Item.objects.filter(id=case.item.id).update(whereabouts=Whereabouts.DISPOSED.value)
    with pytest.raises(ConflictError) as refused:
        case.correct(case.first, photo=photo(case.item.club))

    assert refused.value.code == "disposed"


def test_retired_again_it_takes_two_people_again() -> None:
    case = mistake()
    first = case.corrected()
    mistake(case.item)
    second = case.correct(case.second, photo=photo(case.item.club))

    assert (second.id != first.id, second.agreed_at) == (True, None)
    assert standing(case.item) == Standing.RETIRED


# It comes back stopped


def test_it_comes_back_stopped_and_in_the_room_only_to_be_inspected() -> None:
    case = mistake()
    case.corrected()

    assert standing(case.item) == Standing.STOPPED
    assert open_reasons(case.item) == {CAME_BACK}
    kinds = {hit.kind for hit in verdicts([case.item.id], DAY)[case.item.id].against}
    assert kinds == {"hold", "not_inspected_since_back"}


def test_nobody_releases_it_before_a_full_inspection_made_after_the_correction() -> None:
    case = mistake()
    case.corrected()
    [back] = Hold.objects.open().filter(item=case.item)
    inspected(case.item, minutes=-30)
    assert refusal(back).code == "no_full_inspection"

    inspected(case.item, minutes=30)
    assert released(back).released_at
    assert standing(case.item) == Standing.NO_STOP


def inspected(item: Item, *, minutes: int) -> None:
    """It was inspected in full so long after the correction."""
    at = later(stamp(item.organisation), minutes=minutes)
    items.mark(Item.objects.locked([item.id]), Anchor.FULL_INSPECTION, {item.id: at.at}, at)


def test_what_a_player_still_wears_stays_a_stop_after_the_correction() -> None:
    item = ItemFactory.create()
    put_on(item)
    case = mistake(item)
    case.corrected()

    [alert] = Alert.objects.open().filter(item=item, kind="worn_stopped")
    assert CAME_BACK.rstrip(".") in alert.because
    assert standing(item) == Standing.STOPPED


def test_its_clocks_are_reckoned_anew() -> None:
    item = ItemFactory.create(made_on="2015-03")
    add_rule(item.organisation)
    case = mistake(item)
    assert not item.clocks.exists()
    case.corrected()

    assert "club_age_limit" in item.clocks.filter(falls_on__lte=DAY).values_list("code", flat=True)


# The holds that the retirement ended


def cracked_and_retired() -> tuple[Mistake, Hold]:
    """A crack was found, and the item retired for it."""
    item = ItemFactory.create()
    crack = holds.hold(
        new=new(item, cause=HoldCause.FINDING, ends_by=HoldEndsBy.CRACK_RULE), stamp=stamp(item.organisation)
    )[0]
    return mistake(item), crack


def test_a_crack_that_retirement_ended_is_held_again_by_the_cracks_rule() -> None:
    case, crack = cracked_and_retired()
    case.corrected()
    inspected(case.item, minutes=30)

    assert open_reasons(case.item) == {crack.reason, CAME_BACK}
    assert refusal(crack).code == "crack_rule"
    for back in Hold.objects.open().filter(item=case.item, ends_by=HoldEndsBy.FULL_INSPECTION.value):
        released(back)
    assert standing(case.item) == Standing.STOPPED


def test_a_crack_that_was_recorded_after_the_retirement_is_held_again_too() -> None:
    case = mistake()
    late = new(case.item, cause=HoldCause.FINDING, ends_by=HoldEndsBy.CRACK_RULE)
    assert holds.hold(new=late, stamp=stamp(case.item.organisation))[0].released_at
    case.corrected()

    assert late.reason in open_reasons(case.item)


def test_a_proposal_that_it_is_no_crack_does_not_outlive_the_retirement() -> None:
    item = ItemFactory.create()
    crack = holds.hold(new=new(item, ends_by=HoldEndsBy.CRACK_RULE), stamp=stamp(item.organisation))[0]
    first, second = officer(item.club), officer(item.club)
    released(crack, ReleaseBasis.NOT_A_CRACK, by=first, picture=photo(item.club))
    mistake(item).corrected()

    again = released(crack, ReleaseBasis.NOT_A_CRACK, by=second, picture=photo(item.club))
    assert (again.released_at, again.proposed_by_id) == (None, second.user_id)


def test_a_hold_that_somebody_had_released_before_stays_released() -> None:
    item = ItemFactory.create()
    done = released(holds.hold(new=new(item), stamp=stamp(item.organisation))[0])
    mistake(item).corrected()

    assert Hold.objects.get(id=done.id).released_at == done.released_at
    assert open_reasons(item) == {CAME_BACK}


def test_a_repair_put_to_a_day_is_put_to_that_day_again() -> None:
    item = ItemFactory.create()
    repair = new(item, starts_on=DAY + timedelta(days=9), deferred=True)
    holds.hold(new=repair, stamp=stamp(item.organisation))
    mistake(item).corrected()

    assert Hold.objects.open().filter(item=item, starts_on=DAY + timedelta(days=9), deferred=True).count() == 1


def test_the_history_tells_both_acts_and_every_hold() -> None:
    case, crack = cracked_and_retired()
    case.corrected(right_serial="SN-99998")

    assert [row["words"] for row in history_of(case.item.id, case.item.organisation_id)][-5:] == [
        f"Hold of {DAY} ended (retired): shell cracked. It was: {crack.reason}",
        f"Correction of the retirement on {DAY} proposed, to be agreed by a second person: The 6 is an 8. "
        "Serial SN-99998 was meant.",
        f"The retirement on {DAY} was a mistake, a second person agrees: The 6 is an 8. "
        "It had been retired for: shell cracked",
        f"Held again from {DAY}, for the retirement that ended this hold was a mistake: {crack.reason}",
        f"Held from {DAY}: {CAME_BACK}",
    ]


# What should have been retired


@pytest.mark.parametrize("by_serial", [True, False], ids=["its serial", "its id"])
def test_what_was_meant_is_held_as_soon_as_the_correction_is_proposed(by_serial: bool) -> None:
    case = mistake()
    meant = ItemFactory.create(club=case.item.club, serial="Sn-77")
    said: dict[str, Any] = {"right_serial": " sn-77 "} if by_serial else {"right_item": meant}
    correction = case.correct(case.first, photo=photo(case.item.club), **said)

    assert (correction.right_item_id, standing(meant)) == (meant.id, Standing.STOPPED)
    assert open_reasons(meant) == {f"Meant when {case.item.serial} was retired by mistake: shell cracked"}
    case.correct(case.second)
    assert Hold.objects.filter(item=meant).count() == 1


def test_a_serial_that_nobody_registered_is_kept_as_it_was_given() -> None:
    case = mistake()
    correction = case.correct(case.first, photo=photo(case.item.club), right_serial="nowhere-1")

    assert (correction.right_item_id, correction.right_serial) == (None, "nowhere-1")


def test_the_item_itself_cannot_be_what_was_meant() -> None:
    case = mistake()
    for said in ({"right_item": case.item}, {"right_serial": case.item.serial.lower()}):
        with pytest.raises(InvalidInputError) as refused:
            case.correct(case.first, photo=photo(case.item.club), **said)
        assert refused.value.faults[0].pointer == f"/{next(iter(said))}"


def test_a_serial_of_two_makers_wants_the_item_named() -> None:
    case = mistake()
    for _ in range(2):
        ItemFactory.create(club=case.item.club, serial="SN-77")
    with pytest.raises(InvalidInputError) as refused:
        case.correct(case.first, photo=photo(case.item.club), right_serial="SN-77")

    assert refused.value.faults[0].pointer == "/right_serial"


def test_who_agrees_cannot_agree_to_something_else() -> None:
    case = mistake()
    case.correct(case.first, photo=photo(case.item.club), right_serial="nowhere-1")
    with pytest.raises(ConflictError) as refused:
        case.correct(case.second, right_serial="nowhere-2")

    assert refused.value.code == "another_proposal"
    assert standing(case.item) == Standing.RETIRED
