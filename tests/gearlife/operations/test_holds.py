"""Holding never waits; each hold ends by its own rule."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from gearlife.domain.access import Actor
from gearlife.domain.errors import ConflictError, GearlifeError, InvalidInputError, NotPermittedError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import (
    CertificationKind,
    Evidence,
    HoldCause,
    HoldEndsBy,
    LabelYearMeans,
    ReleaseBasis,
    Standing,
)
from gearlife.models import Hold, Item, LedgerEvent, Photo
from gearlife.operations import certifications, holds, items
from tests.factories import AT, DAY, ItemFactory, device, officer, photo, stamp

pytestmark = pytest.mark.django_db


def new(item: Item, **values: Any) -> holds.NewHold:
    """A hold to open."""
    return holds.NewHold(item.id, **{"reason": "A crack at the ear hole.", **values})


def held(**values: Any) -> Hold:
    """An open hold on an item."""
    item = ItemFactory.create()
    return holds.hold(new=new(item, **values), stamp=stamp(item.organisation))[0]


def cracked() -> Hold:
    """The open hold of a suspected crack."""
    return held(cause=HoldCause.FINDING, ends_by=HoldEndsBy.CRACK_RULE)


def released(
    hold: Hold, basis: ReleaseBasis = ReleaseBasis.DEALT_WITH, *, by: Actor | None = None, picture: Photo | None = None
) -> Hold:
    """End it as its club's officer, or say why not."""
    who = by or officer(hold.item.club)
    return holds.release(hold=hold, reason="Looked at again.", basis=basis, photo=picture, stamp=stamp(who))


def refusal(hold: Hold, *args: Any, **kwargs: Any) -> GearlifeError:
    """Why it is not released."""
    with pytest.raises(GearlifeError) as refused:
        released(hold, *args, **kwargs)
    assert Hold.objects.open().filter(id=hold.id)
    return refused.value


def standing(item: Item) -> str:
    """What the records say of it today."""
    return str(Item.objects.with_standing(DAY).values_list("standing", flat=True).get(id=item.id))


# Holding


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
    ],
    ids=["reason", "reference", "cause", "day"],
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


@pytest.mark.parametrize("basis", [ReleaseBasis.DEALT_WITH, ReleaseBasis.RETIRED])
def test_a_crack_is_never_repaired(basis: ReleaseBasis) -> None:
    assert refusal(cracked(), basis).code == "crack_rule"


def test_not_a_crack_needs_a_photo() -> None:
    refused = refusal(cracked(), ReleaseBasis.NOT_A_CRACK)

    assert isinstance(refused, InvalidInputError)
    assert refused.faults[0].pointer == "/photo"


def test_not_a_crack_is_proposed_by_one_and_ended_by_another() -> None:
    hold = cracked()
    first, second = officer(hold.item.club), officer(hold.item.club)
    picture = photo(hold.item.club)
    proposed = released(hold, ReleaseBasis.NOT_A_CRACK, by=first, picture=picture)
    assert (proposed.released_at, proposed.proposed_by_id) == (None, first.user_id)
    assert standing(hold.item) == Standing.STOPPED

    ended = released(hold, ReleaseBasis.NOT_A_CRACK, by=second)
    assert (ended.released_by_id, ended.photo) == (second.user_id, picture)
    assert standing(hold.item) == Standing.NO_STOP


def test_the_one_who_proposed_cannot_be_the_second_person() -> None:
    hold = cracked()
    first = officer(hold.item.club)
    for _ in range(3):
        released(hold, ReleaseBasis.NOT_A_CRACK, by=first, picture=photo(hold.item.club))

    assert Hold.objects.open().filter(id=hold.id)


def test_a_proposal_does_not_open_another_way_out() -> None:
    hold = cracked()
    released(hold, ReleaseBasis.NOT_A_CRACK, picture=photo(hold.item.club))

    assert refusal(hold, ReleaseBasis.DEALT_WITH).code == "crack_rule"


def certify(item: Item, *, days: int = 1, recorded_after: int = 2, **values: Any) -> None:
    """Record a recertification some days after the crack."""
    usual: dict[str, Any] = {"certified_on": DAY + timedelta(days=days), "firm": "Mendwell"}
    certifications.certify(
        item=item,
        new=certifications.NewCertification(CertificationKind.RECERTIFICATION, **usual | values),
        stamp=stamp(item.organisation, AT + timedelta(days=recorded_after)),
    )


def test_a_crack_ends_with_a_reconditioners_acceptance_of_that_serial() -> None:
    hold = cracked()
    certify(hold.item, evidence=Evidence.RECONDITIONERS_FILE)

    assert released(hold, ReleaseBasis.RECONDITIONER_ACCEPTED).released_at


def test_no_acceptance_recorded_ends_no_crack() -> None:
    assert refusal(cracked(), ReleaseBasis.RECONDITIONER_ACCEPTED).code == "no_acceptance_recorded"


def test_an_acceptance_of_another_serial_ends_no_crack() -> None:
    hold = cracked()
    certify(ItemFactory.create(club=hold.item.club))

    assert refusal(hold, ReleaseBasis.RECONDITIONER_ACCEPTED).code == "no_acceptance_recorded"


@pytest.mark.parametrize(
    "acceptance",
    [
        {"days": -1},
        {"firm": ""},
        {"days": 0},
        {"certified_on": None, "label_year": 2026, "label_year_means": LabelYearMeans.WORK},
        {"evidence": Evidence.CLUBS_FILE},
    ],
    ids=["older than the crack", "by no named firm", "of the same day", "known by a label's year", "a club's file"],
)
def test_what_does_not_show_that_a_firm_took_it_after_the_crack_ends_no_crack(acceptance: dict[str, Any]) -> None:
    hold = cracked()
    certify(hold.item, **acceptance)

    assert refusal(hold, ReleaseBasis.RECONDITIONER_ACCEPTED).code == "no_acceptance_recorded"


def test_reconditioned_is_not_accepted_as_recertified() -> None:
    hold = cracked()
    certifications.certify(
        item=hold.item,
        new=certifications.NewCertification(CertificationKind.RECONDITIONING, certified_on=DAY, firm="Mendwell"),
        stamp=stamp(hold.organisation, AT + timedelta(days=1)),
    )

    assert refusal(hold, ReleaseBasis.RECONDITIONER_ACCEPTED).code == "no_acceptance_recorded"


def test_a_crack_found_after_the_acceptance_stays_held() -> None:
    item = ItemFactory.create()
    certify(item, days=0, recorded_after=0)
    hold, _ = holds.hold(
        new=new(item, ends_by=HoldEndsBy.CRACK_RULE), stamp=stamp(item.organisation, AT + timedelta(hours=1))
    )

    assert refusal(hold, ReleaseBasis.RECONDITIONER_ACCEPTED).code == "no_acceptance_recorded"


def test_retirement_ends_a_crack() -> None:
    hold = cracked()
    items.retire(item=hold.item, reason="Cracked.", on=None, stamp=stamp(hold.organisation))
    hold.refresh_from_db()

    assert (hold.release_basis, standing(hold.item)) == (ReleaseBasis.RETIRED, Standing.RETIRED)


def test_a_crack_that_is_reported_after_the_retirement_ends_as_one_reported_before_it() -> None:
    item = ItemFactory.create()
    items.retire(item=item, reason="Cracked.", on=None, stamp=stamp(item.organisation))
    late = replace(new(item), cause=HoldCause.FINDING, ends_by=HoldEndsBy.CRACK_RULE)
    hold, opened = holds.hold(new=late, stamp=stamp(item.organisation))

    assert opened
    assert (hold.release_basis, hold.release_reason) == (ReleaseBasis.RETIRED, "Cracked.")
    assert not item.alerts.filter(closed_at__isnull=True)


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
