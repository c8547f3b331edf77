"""What is registered or renamed like an item out of use is recorded, and stopped until somebody has looked."""

import pytest

from gearlife.domain.vocabulary import Advice, ReleaseBasis, Standing
from gearlife.models import Hold, Item, LedgerEvent
from gearlife.operations import holds, items
from tests.factories import DAY, ItemFactory, ModelFactory, stamp

pytestmark = pytest.mark.django_db
SPELT = ("AK\u20139", "AK\u20119", "AK9", "ak 9", "AK-09")


@pytest.fixture
def retired() -> Item:
    item = ItemFactory.create(serial="AK-9")
    made: Item = items.retire(item=item, reason="Shell cracked.", on=None, stamp=stamp(item.organisation))
    return made


def standing(item: Item) -> str:
    return str(Item.objects.with_standing(DAY).get(id=item.id).standing)


def renamed(item: Item, **changes: str) -> Item:
    return items.change(item=item, changes=changes, stamp=stamp(item.organisation))


@pytest.mark.parametrize("spelt", SPELT)
def test_registered_like_a_retired_one_it_is_held_by_words_that_name_it(retired: Item, spelt: str) -> None:
    item = ItemFactory.create(club=retired.club, model=retired.model, serial=spelt)

    hold = Hold.objects.get(item=item)
    assert hold.reason == (
        f"Named '{spelt}', much like 'AK-9' of '{retired.manufacturer}' ({retired.club}), which was retired on {DAY}. "
        "Is it the same one? Look at the shell before this hold is released."
    )
    assert (hold.advice, standing(item)) == (Advice.CHECK_RECORDS, Standing.STOPPED)
    actions = LedgerEvent.objects.filter(item_id=item.id).order_by("seq").values_list("action", flat=True)
    assert list(actions) == ["registered", "held"]


def test_the_same_serial_of_another_maker_is_held_too(retired: Item) -> None:
    other = ModelFactory.create(manufacturer__organisation=retired.organisation)
    assert standing(ItemFactory.create(club=retired.club, model=other, serial="AK-9")) == Standing.STOPPED


def test_a_tag_that_is_a_retired_serial_is_held_too(retired: Item) -> None:
    item = ItemFactory.create(club=retired.club, model=retired.model, serial="", tag="AK9")
    assert standing(item) == Standing.STOPPED


def test_registered_like_a_held_one_it_is_held() -> None:
    known = ItemFactory.create(serial="AK-9")
    holds.hold(new=holds.NewHold(known.id, "crack at the ear hole"), stamp=stamp(known.organisation))
    item = ItemFactory.create(club=known.club, model=known.model, serial="AK9")
    assert "which is held" in Hold.objects.get(item=item).reason


def test_registered_like_one_in_use_nothing_is_held() -> None:
    known = ItemFactory.create(serial="AK-9")
    ItemFactory.create(club=known.club, model=known.model, serial="AK9")
    assert not Hold.objects.exists()


@pytest.mark.parametrize("spelt", SPELT)
def test_renamed_like_a_retired_one_it_is_held(retired: Item, spelt: str) -> None:
    item = ItemFactory.create(club=retired.club, model=retired.model, serial="AK-77")
    assert standing(renamed(item, serial=spelt)) == Standing.STOPPED


def test_the_hold_is_released_as_any_other_and_no_other_change_opens_it_again(retired: Item) -> None:
    item = ItemFactory.create(club=retired.club, model=retired.model, serial="AK9")
    hold, by = Hold.objects.get(item=item), stamp(item.organisation)
    holds.release(hold=hold, reason="Another shell.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)
    renamed(item, notes="red", tag="H1")
    assert standing(renamed(item, serial="ak9 ")) == Standing.NO_STOP


def test_a_held_item_whose_serial_is_spelt_anew_is_no_namesake_of_itself() -> None:
    item = ItemFactory.create(serial="AK9")
    holds.hold(new=holds.NewHold(item.id, "strap"), stamp=stamp(item.organisation))
    renamed(item, serial="AK-9")
    assert Hold.objects.count() == 1
