"""An item's history is told in words, from the ledger alone."""

from datetime import date

import pytest

from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import CertificationKind, Evidence, LabelYearMeans, ReleaseBasis
from gearlife.models import Item
from gearlife.operations import certifications, holds, items
from gearlife.queries.history import history_of
from tests.factories import AT, ClubFactory, ItemFactory, OrganisationFactory, officer, pads, stamp

pytestmark = pytest.mark.django_db


def told(item: Item) -> list[str]:
    """The sentences of an item's history, oldest first."""
    return [str(row["words"]) for row in history_of(item.id, item.organisation_id)]


def test_a_helmet_is_told_as_it_was_registered() -> None:
    assert told(ItemFactory.create(serial="AB-12")) == ["Registered: helmet, serial AB-12, size M, made 2026-03."]


def test_pads_without_serial_and_date_are_told_so() -> None:
    item = pads(ClubFactory.create(), serial="", size="")

    assert told(item) == [f"Registered: shoulder pads, tag {item.tag}, no maker serial, date of manufacture not known."]


def test_a_hold_and_its_end_are_told_with_their_reasons() -> None:
    item = ItemFactory.create()
    hold, _ = holds.hold(new=holds.NewHold(item.id, "A loose rivet."), stamp=stamp(item.organisation))
    by = stamp(officer(item.club))
    holds.release(hold=hold, reason="Rivet replaced.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)

    assert told(item)[1:] == [
        "Held from 2026-10-14: A loose rivet.",
        "Hold of 2026-10-14 ended (dealt with): Rivet replaced. It was: A loose rivet.",
    ]


def test_a_change_is_told_with_what_it_was() -> None:
    item = ItemFactory.create(made_on="")
    changes = {"made_on": PartialDate.parse("2020-05"), "made_on_evidence": Evidence.INVOICE}
    items.change(item=item, changes=changes, stamp=stamp(item.organisation))

    assert "Made on changed from nothing to 2020-05." in told(item)[1]


def test_a_label_is_told_with_what_its_year_means() -> None:
    item = ItemFactory.create(made_on="2020")
    new = certifications.NewCertification(
        CertificationKind.RECERTIFICATION, label_year=2026, label_year_means=LabelYearMeans.WORK, firm="Mendwell"
    )
    certifications.certify(item=item, new=new, stamp=stamp(item.organisation))

    assert told(item)[1] == (
        "Recertification by a label of 2026 (the year of the work) by Mendwell recorded; it counts from 2026-01-01."
    )


def test_a_retirement_is_told_with_its_day_and_reason() -> None:
    item = ItemFactory.create()
    items.retire(item=item, reason="Sixteen years old.", on=date(2026, 10, 1), stamp=stamp(item.organisation))

    assert told(item)[1] == "Retired on 2026-10-01: Sixteen years old."


def test_an_event_names_its_actor_by_user_name_and_the_machine_by_nothing() -> None:
    item = ItemFactory.create()
    by = officer(item.club)
    holds.hold(new=holds.NewHold(item.id, "A blow."), stamp=stamp(by))
    by_machine, by_person = history_of(item.id, item.organisation_id)

    assert by_machine["actor"] is None
    assert str(by_person["actor"]).startswith("person-")
    assert (by_person["at"], by_person["action"]) == (AT, "held")


def test_another_organisation_is_told_nothing() -> None:
    assert history_of(ItemFactory.create().id, OrganisationFactory.create().id) == []
