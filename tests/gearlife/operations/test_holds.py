"""Holding never waits; each hold ends by its own rule."""

from datetime import date
from typing import Any

import pytest

from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import (
    HoldCause,
    HoldEndsBy,
    ReleaseBasis,
    Standing,
)
from gearlife.models import LedgerEvent
from gearlife.operations import holds, items
from tests.factories import ItemFactory, device, officer, stamp
from tests.gearlife.operations.hold_acts import cracked, held, new, refusal, released, standing

pytestmark = pytest.mark.django_db


# Holding


def test_a_hold_that_names_its_person_is_no_other_hold_of_the_same_words() -> None:
    hold = held()
    named = officer(hold.item.club).user_id
    second, opened = holds.hold(new=new(hold.item, named_person_id=named), stamp=stamp(hold.organisation))

    assert opened
    assert second.named_person_id == named


def test_a_hold_stops_the_item_at_once() -> None:
    assert standing(held().item) == Standing.STOPPED


def test_a_devices_account_may_hold() -> None:
    item = ItemFactory.create()
    hold, opened = holds.hold(new=new(item), stamp=stamp(device(item.club)))

    assert opened
    assert hold.opened_by is not None


def test_the_same_open_hold_asked_for_again_is_the_one_there_is() -> None:
    hold = held()
    events = LedgerEvent.objects.count()
    again, opened = holds.hold(new=new(hold.item), stamp=stamp(hold.organisation))

    assert (again, opened) == (hold, False)
    assert LedgerEvent.objects.count() == events


def test_the_same_hold_of_a_retired_item_asked_for_again_is_the_one_there_is() -> None:
    item = ItemFactory.create()
    by = stamp(item.organisation)
    items.retire(item=item, reason="Worn out.", on=None, stamp=by)
    first, _ = holds.hold(new=new(item), stamp=by)
    again, opened = holds.hold(new=new(item), stamp=by)

    assert (again.id, opened) == (first.id, False)
    assert item.holds.count() == 1


def test_the_same_hold_asked_for_after_its_release_is_a_new_one() -> None:
    hold = released(held())
    again, opened = holds.hold(new=new(hold.item), stamp=stamp(hold.organisation))

    assert opened
    assert again != hold


@pytest.mark.parametrize(
    "other",
    [
        {"reason": "Another."},
        {"reference": "incident 14"},
        {"cause": HoldCause.DAMAGE_REPORT},
        {"starts_on": date(2026, 11, 1)},
        {"ends_by": HoldEndsBy.FULL_INSPECTION},
    ],
    ids=["reason", "reference", "cause", "day", "way it ends"],
)
def test_a_hold_that_differs_is_another(other: dict[str, Any]) -> None:
    hold = held()
    _, opened = holds.hold(new=new(hold.item, **other), stamp=stamp(hold.organisation))

    assert opened


@pytest.mark.parametrize("after_release", [False, True])
def test_the_same_fact_twice_opens_one_hold(after_release: bool) -> None:
    origin = uuid7()
    hold = held(origin_id=origin)
    if after_release:
        released(hold)
    again, opened = holds.hold(
        new=new(hold.item, origin_id=origin, reason="Told in other words."), stamp=stamp(hold.organisation)
    )

    assert (again.id, opened) == (hold.id, False)


def test_an_incidents_hold_names_the_person_who_may_end_it() -> None:
    item = ItemFactory.create()

    with pytest.raises(InvalidInputError) as refused:
        holds.hold(new=new(item, cause=HoldCause.INCIDENT), stamp=stamp(item.organisation))
    assert refused.value.faults[0].pointer == "/named_person"


# Releasing


def test_an_officer_ends_a_hold_that_was_dealt_with() -> None:
    hold = held()
    by = officer(hold.item.club)
    ended = released(hold, by=by)

    assert (ended.released_by_id, ended.release_basis) == (by.user_id, ReleaseBasis.DEALT_WITH)
    assert standing(hold.item) == Standing.NO_STOP


def test_a_release_ends_the_one_hold_that_it_names() -> None:
    hold = held()
    holds.hold(new=new(hold.item, reason="Another."), stamp=stamp(hold.organisation))
    released(hold)

    assert standing(hold.item) == Standing.STOPPED


def test_a_devices_account_never_releases() -> None:
    hold = held()

    assert refusal(hold, by=device(hold.item.club)).code == "device_never_releases"


def test_a_hold_that_has_ended_already_stays_as_it_ended() -> None:
    hold = held()
    first = officer(hold.item.club)
    released(hold, by=first)
    again = released(hold, by=officer(hold.item.club))

    assert again.released_by_id == first.user_id


def test_only_the_person_named_on_a_hold_may_end_it() -> None:
    item = ItemFactory.create()
    named = officer(item.club)
    hold, _ = holds.hold(
        new=new(item, cause=HoldCause.INCIDENT, named_person_id=named.user_id), stamp=stamp(item.organisation)
    )

    refused = refusal(hold, by=officer(item.club))
    assert isinstance(refused, NotPermittedError)
    assert refused.code == "named_person_only"
    assert released(hold, by=named).released_at


@pytest.mark.parametrize("basis", [ReleaseBasis.NOT_A_CRACK, ReleaseBasis.RECONDITIONER_ACCEPTED, ReleaseBasis.RETIRED])
def test_any_other_hold_ends_only_as_dealt_with(basis: ReleaseBasis) -> None:
    assert isinstance(refusal(held(), basis), InvalidInputError)


# The crack rule


def test_releases_that_are_refused_leave_no_event() -> None:
    hold = cracked()
    before = LedgerEvent.objects.count()
    with pytest.raises(ConflictError):
        released(hold)

    assert LedgerEvent.objects.count() == before


def test_retirement_does_not_end_what_only_a_named_person_may_end() -> None:
    item = ItemFactory.create()
    named = officer(item.club)
    incident = new(item, cause=HoldCause.INCIDENT, named_person_id=named.user_id)
    hold, _ = holds.hold(new=incident, stamp=stamp(item.organisation))
    items.retire(item=item, reason="Old.", on=None, stamp=stamp(item.organisation))
    hold.refresh_from_db()

    assert (hold.released_at, standing(item)) == (None, Standing.RETIRED)
    assert released(hold, by=named).released_at
