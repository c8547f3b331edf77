"""Items are taken in, changed, lost, found and retired."""

from datetime import date, timedelta
from typing import Any

import pytest
from stdnum.iso7064 import mod_37_2

from gearlife.domain.errors import ConflictError, GearlifeError, InvalidInputError
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Evidence, Whereabouts
from gearlife.models import Item, LedgerEvent
from gearlife.operations import holds, items
from gearlife.operations.ledger import Entry
from gearlife.signals import items_went_missing
from tests.factories import AT, DAY, ClubFactory, ItemFactory, ModelFactory, pads, put_on, stamp

pytestmark = pytest.mark.django_db


def change(item: Item, **changes: Any) -> Item:
    """Change recorded facts."""
    return items.change(item=item, changes=changes, stamp=stamp(item.organisation))


def retire(item: Item, on: date | None = None) -> Item:
    """Retire it."""
    return items.retire(item=item, reason="Old.", on=on, stamp=stamp(item.organisation))


# Registering


@pytest.mark.parametrize("spelt", ["AB-12", " ab-12 ", "Ab-12"])
def test_a_serial_is_registered_once_per_maker_however_it_is_spelt(spelt: str) -> None:
    item = ItemFactory.create(serial="AB-12")

    with pytest.raises(ConflictError) as refused:
        ItemFactory.create(club=item.club, model=item.model, serial=spelt)
    assert refused.value.code == "serial_taken"


def test_two_makers_may_use_the_same_serial() -> None:
    item = ItemFactory.create(serial="AB-12")

    assert ItemFactory.create(club=item.club, serial="AB-12").manufacturer_id != item.manufacturer_id


def test_a_tag_is_on_one_item_of_the_organisation() -> None:
    item = ItemFactory.create(tag="LOCKER 7")

    with pytest.raises(ConflictError) as refused:
        ItemFactory.create(club=ClubFactory.create(organisation=item.organisation), tag="locker 7")
    assert refused.value.code == "tag_taken"


def test_an_item_without_serial_gets_a_tag_with_a_check_character_and_is_marked_so() -> None:
    item = pads(ClubFactory.create(code="OBX"), serial="")

    assert item.tag.startswith("OBX0001")
    assert mod_37_2.is_valid(item.tag)
    assert item.label == f"tag {item.tag} (no maker serial)"


def test_no_two_items_without_serial_share_a_tag() -> None:
    club = ClubFactory.create()

    assert len({pads(club, serial="").tag for _ in range(3)}) == 3


def test_an_item_with_a_serial_gets_no_tag_by_itself() -> None:
    assert ItemFactory.create().tag == ""


def test_a_size_is_written_as_the_catalogue_spells_it() -> None:
    model = ModelFactory.create()

    assert items.size_of(model, " xl ") == "XL"


def test_a_size_that_the_catalogue_does_not_have_stays_as_given() -> None:
    assert items.size_of(ModelFactory.create(), "youth l") == "youth l"


@pytest.mark.parametrize(
    "facts",
    [{"made_on": "2026-10-15"}, {"made_on": "2027"}, {"made_on": "2026-03", "acquired_on": date(2026, 2, 28)}],
    ids=["made tomorrow", "made next year", "made after it was acquired"],
)
def test_days_that_cannot_be_are_refused(facts: dict[str, Any]) -> None:
    with pytest.raises(InvalidInputError) as refused:
        ItemFactory.create(**facts)
    assert refused.value.faults[0].pointer == "/made_on"


def test_nothing_is_acquired_in_the_future() -> None:
    with pytest.raises(InvalidInputError) as refused:
        change(ItemFactory.create(), acquired_on=DAY + timedelta(days=1))
    assert refused.value.faults[0].pointer == "/acquired_on"


def test_made_this_year_is_possible_though_the_year_is_not_over() -> None:
    item = ItemFactory.create(made_on="2026")

    assert (item.made_earliest, item.made_latest) == (date(2026, 1, 1), date(2026, 12, 31))


def test_a_date_that_is_not_known_has_no_evidence() -> None:
    assert ItemFactory.create(made_on="").made_on_evidence == Evidence.UNKNOWN


# Changing


def test_a_change_tells_the_ledger_what_it_was_and_what_it_is() -> None:
    item = ItemFactory.create(colour="red")
    change(item, colour="blue")
    event = LedgerEvent.objects.get(item_id=item.id, action="changed")

    assert '"colour":["red","blue"]' in event.text


def test_a_change_to_what_it_is_already_changes_nothing() -> None:
    item = ItemFactory.create(colour="red")
    before = LedgerEvent.objects.count()
    change(item, colour="red")

    assert LedgerEvent.objects.count() == before
    assert Item.objects.get(id=item.id).version == Item.objects.get(id=change(item, colour="red").id).version


@pytest.mark.parametrize("evidence", [{}, {"made_on_evidence": Evidence.UNKNOWN}], ids=["none", "unknown"])
def test_a_date_of_manufacture_needs_its_evidence(evidence: dict[str, Any]) -> None:
    with pytest.raises(InvalidInputError) as refused:
        change(ItemFactory.create(made_on=""), made_on=PartialDate.parse("2020"), **evidence)
    assert refused.value.faults[0].pointer == "/made_on_evidence"


def test_a_date_that_is_still_to_come_is_refused_in_a_change_too() -> None:
    with pytest.raises(InvalidInputError):
        change(ItemFactory.create(), made_on=PartialDate.parse("2027"), made_on_evidence=Evidence.LABEL)


def test_a_day_of_acquiring_before_the_day_made_is_refused_in_a_change_too() -> None:
    with pytest.raises(InvalidInputError):
        change(ItemFactory.create(made_on="2026-03"), acquired_on=date(2025, 1, 1))


def test_better_evidence_may_come_by_itself() -> None:
    item = change(ItemFactory.create(made_on_evidence=Evidence.DEDUCED), made_on_evidence=Evidence.LABEL)

    assert (item.made_on, item.made_on_evidence) == ("2026-03", Evidence.LABEL)


def test_a_date_may_be_taken_back_as_unknown() -> None:
    item = change(ItemFactory.create(), made_on=None)

    assert (item.made_on, item.made_earliest, item.made_on_evidence) == ("", None, Evidence.UNKNOWN)


def test_a_corrected_serial_is_refused_where_the_maker_has_it_already() -> None:
    item = ItemFactory.create(serial="AB-12")
    other = ItemFactory.create(club=item.club, model=item.model)

    with pytest.raises(ConflictError) as refused:
        change(other, serial="ab-12")
    assert refused.value.code == "serial_taken"


# Missing and found


def test_what_was_missing_and_is_found_is_in_the_room_and_came_back() -> None:
    item = items.mark_missing(item=ItemFactory.create(), stamp=stamp(ItemFactory.create().organisation))
    found = items.found(item=item, stamp=stamp(item.organisation))

    assert (found.whereabouts, found.came_back_at) == (Whereabouts.STOCK, AT)


def test_what_is_in_the_room_is_found_already() -> None:
    item = ItemFactory.create()

    assert items.found(item=item, stamp=stamp(item.organisation)).came_back_at is None


def test_what_a_player_has_is_not_missing() -> None:
    item = ItemFactory.create()
    put_on(item)

    with pytest.raises(ConflictError) as refused:
        items.found(item=item, stamp=stamp(item.organisation))
    assert refused.value.code == "not_missing"


def test_going_missing_is_told_to_whoever_kept_its_holder() -> None:
    told: list[Any] = []

    def listen(**payload: Any) -> list[Entry]:
        told.append(payload["item_ids"])
        return []

    items_went_missing.connect(listen)
    try:
        item = ItemFactory.create()
        items.mark_missing(item=item, stamp=stamp(item.organisation))
        items.mark_missing(item=item, stamp=stamp(item.organisation))
    finally:
        items_went_missing.disconnect(listen)

    assert told == [[item.id]]


# Retiring


def test_a_retired_item_stays_as_it_was_first_retired() -> None:
    item = retire(ItemFactory.create(), DAY - timedelta(days=3))
    again = items.retire(item=item, reason="Another.", on=DAY, stamp=stamp(item.organisation))

    assert (again.retired_on, again.retired_reason) == (DAY - timedelta(days=3), "Old.")


def test_nothing_retires_tomorrow() -> None:
    item = ItemFactory.create()
    with pytest.raises(InvalidInputError):
        retire(item, DAY + timedelta(days=1))

    assert Item.objects.get(id=item.id).retired_on is None


def test_no_act_brings_a_retired_item_back() -> None:
    item = retire(ItemFactory.create())
    by = stamp(item.organisation)
    items.found(item=items.mark_missing(item=item, stamp=by), stamp=by)
    change(item, made_on=PartialDate.parse("2026-09"), made_on_evidence=Evidence.LABEL)
    with pytest.raises(GearlifeError):
        change(item, made_on=PartialDate.parse("2027-09"), made_on_evidence=Evidence.LABEL)

    assert Item.objects.with_standing(DAY).values_list("standing", flat=True).get(id=item.id) == "retired"


def test_a_retired_item_has_no_clocks_and_no_open_hold_or_alert() -> None:
    item = ItemFactory.create(made_on="")
    holds.hold(new=holds.NewHold(item.id, "Cracked."), stamp=stamp(item.organisation))
    retire(item)

    assert not item.clocks.exists()
    assert not item.holds.filter(released_at__isnull=True)
    assert not item.alerts.filter(closed_at__isnull=True)


def test_a_retired_item_that_a_player_still_has_is_a_stop() -> None:
    item = ItemFactory.create()
    put_on(item)
    retire(item)

    assert [alert.kind for alert in item.alerts.filter(closed_at__isnull=True)] == ["worn_stopped"]
