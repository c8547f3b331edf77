"""The holds that a retirement ended are in force again when it is taken back, each by its own rule."""

from datetime import timedelta

import pytest

from gearlife.domain.vocabulary import HoldCause, HoldEndsBy, ReleaseBasis, Standing
from gearlife.models import Hold
from gearlife.operations import holds
from gearlife.operations.retirement_corrections import CAME_BACK
from gearlife.queries.history import history_of
from tests.factories import DAY, ItemFactory, officer, photo, stamp
from tests.gearlife.operations.hold_acts import new, refusal, released, standing
from tests.gearlife.operations.mistaken_retirement import Mistake, inspected, mistake, open_reasons

pytestmark = pytest.mark.django_db


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
