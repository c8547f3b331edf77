"""A retirement on a mistyped serial is taken back by two people with a photo, and what comes back is stopped."""

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Standing, Whereabouts
from gearlife.models import Alert, Hold, Item, RetirementCorrection
from gearlife.operations.retirement_corrections import CAME_BACK, Correction, correct_retirement
from gearlife.queries.gate import verdicts
from tests.factories import AT, DAY, ItemFactory, add_rule, device, officer, photo, put_on, stamp
from tests.gearlife.operations.hold_acts import refusal, released, standing
from tests.gearlife.operations.mistaken_retirement import inspected, mistake, open_reasons

pytestmark = pytest.mark.django_db


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
