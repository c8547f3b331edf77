"""A shell crack's hold ends by retirement, a reconditioner's acceptance, or a photo and two people."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import (
    CertificationKind,
    Evidence,
    HoldCause,
    HoldEndsBy,
    LabelYearMeans,
    ReleaseBasis,
    Standing,
)
from gearlife.models import Hold, Item
from gearlife.operations import certifications, holds, items
from tests.factories import AT, DAY, ItemFactory, officer, photo, stamp
from tests.gearlife.operations.hold_acts import cracked, new, refusal, released, standing

pytestmark = pytest.mark.django_db


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
