"""Inserting many rows at once leaves what `bulk_create` leaves, and fails as it does; on both databases."""

import pytest
from django.db import IntegrityError, transaction

from gearlife.domain.ids import uuid7
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.models import Clock, Item
from gearlife.models.inserting import FEW, insert_all, insert_values
from tests.factories import AT, ItemFactory

pytestmark = pytest.mark.django_db
# Django's own insert of the same rows is the oracle.
MANY = FEW + 5


def copies(item: Item, count: int, prefix: str) -> list[Item]:
    """New rows like an item, with every kind of column filled in."""
    made = []
    for number in range(count):
        copy: Item = Item.objects.get(id=item.id)
        copy.pk, copy.serial, copy.serial_key = uuid7(), f"{prefix}{number}", f"{prefix}{number}"
        copy.notes, copy.add_ons, copy.last_look_at = "tab\there, \\N, 'é' \"q\"\nend", ["visor", {"ü": None}], AT
        made.append(copy)
    return made


def rows(prefix: str) -> list[dict[str, object]]:
    """What is stored, but for the names."""
    stored = list(Item.objects.filter(serial__startswith=prefix).order_by("serial").values())
    for row in stored:
        del row["id"], row["serial"], row["serial_key"]
    return stored


@pytest.mark.parametrize("count", [1, MANY])
def test_rows_are_stored_as_bulk_create_stores_them(count: int) -> None:
    item = ItemFactory.create()
    Item.objects.bulk_create(copies(item, count, "A"))
    insert_all(copies(item, count, "B"))
    assert len(rows("B")) == count
    assert rows("B") == rows("A")


@pytest.mark.parametrize("count", [1, MANY])
def test_days_at_the_ends_of_the_calendar_come_back(count: int) -> None:
    item = ItemFactory.create()
    example = Clock.objects.filter(item=item).order_by("code").values()[0]
    moved = {"falls_on": UNKNOWN_DAY, "until": LAST_DAY, "rule_id": None}
    rows = [example | moved | {"id": uuid7(), "code": f"c{n}"} for n in range(count)]
    insert_values(Clock, list(example), [list(row.values()) for row in rows])
    assert Clock.objects.filter(falls_on=UNKNOWN_DAY, until=LAST_DAY, rule=None).count() == count


@pytest.mark.parametrize("count", [1, MANY])
def test_a_row_that_is_taken_is_an_integrity_error_and_nothing_is_stored(count: int) -> None:
    item = ItemFactory.create()
    insert_all(copies(item, count, "A"))
    with pytest.raises(IntegrityError), transaction.atomic():
        insert_all(copies(item, count + 1, "A"))
    assert len(rows("A")) == count


@pytest.mark.parametrize("count", [1, MANY])
def test_a_row_that_is_taken_may_be_left_out_and_the_others_are_stored(count: int) -> None:
    item = ItemFactory.create()
    insert_all(copies(item, count, "A"))
    insert_all(copies(item, count + 1, "A"), unless_there=True)
    assert len(rows("A")) == count + 1


def test_of_nothing_nothing_is_inserted() -> None:
    insert_all([])
    insert_values(Item, ["id"], [])
    assert not Item.objects.exists()
