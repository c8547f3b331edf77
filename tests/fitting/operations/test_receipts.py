"""Receipts: what was shown stays, and an acknowledgement is bound to it."""

from dataclasses import replace

import pytest
from django.db import IntegrityError, transaction

from fitting.domain.counted_gear import CountedKind
from fitting.domain.receipts import MEANING, SignedAs
from fitting.models import Player, Receipt
from fitting.operations.assignments import return_item
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.operations.receipts import NewReceipt, Signature, acknowledge, make_acknowledged, make_receipt
from fitting.operations.removing import remove_person
from fitting.queries.receipts import is_intact
from gearlife.domain.access import Stamp
from gearlife.domain.cautions import TO_WHOEVER_WEARS_IT
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.models import Item, LedgerEvent
from gearlife.queries.history import history_of
from tests.factories import ItemFactory, later, put_on

pytestmark = pytest.mark.django_db
PARENT = Signature("  Pat   Example ", SignedAs.PARENT)


@pytest.fixture
def dressed(item: Item, player: Player, now: Stamp) -> Player:
    put_on(item, player)
    hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY, 2, size="L")], stamp=now)
    return player


def made(player: Player, now: Stamp) -> Receipt:
    return make_receipt(new=NewReceipt(player), stamp=now)


def test_it_shows_what_the_player_has_and_the_cautions(dressed: Player, item: Item, now: Stamp) -> None:
    receipt = made(dressed, now)
    [gear], [counted] = receipt.shown["gear"], receipt.shown["counted"]

    assert (gear["serial"], gear["size"], gear["kind"], gear["maker"]) == (
        *(item.serial, "M", "helmet"),
        item.manufacturer.name,
    )
    assert (counted["kind"], counted["count"], counted["size"]) == ("jersey", 2, "L")
    assert receipt.shown["cautions"] == list(TO_WHOEVER_WEARS_IT)
    assert receipt.shown["meaning"] == MEANING
    assert is_intact(receipt)


def test_a_later_change_of_the_gear_does_not_change_it(dressed: Player, item: Item, now: Stamp) -> None:
    receipt = acknowledge(receipt=made(dressed, now), by=PARENT, stamp=now)
    before = receipt.shown
    Item.objects.filter(id=item.id).update(size="XL")
    receipt.refresh_from_db()

    assert receipt.shown == before
    assert is_intact(receipt)


def test_the_acknowledgement_says_who_when_as_what_and_on_whose_device(dressed: Player, now: Stamp) -> None:
    """The parts that 21 CFR 11.50 (from memory) asks of a signature: printed name, date and time, meaning."""
    receipt = acknowledge(receipt=made(dressed, now), by=PARENT, stamp=later(now, minutes=2))

    assert (receipt.acknowledged_name, receipt.acknowledged_as) == ("Pat Example", "parent")
    assert (receipt.acknowledged_at, receipt.acknowledged_with_id) == (later(now, minutes=2).at, now.actor.user_id)
    assert is_intact(receipt)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("acknowledged_name", "Somebody Else"),
        ("player_name", "Another Player"),
        ("acknowledged_as", "player"),
        ("acknowledged_with_id", None),
        ("digest", "0" * 64),
        ("shown", {"gear": [], "counted": [], "cautions": [], "meaning": MEANING}),
    ],
)
def test_whoever_changes_a_part_of_it_breaks_it(dressed: Player, now: Stamp, column: str, value: object) -> None:
    receipt = acknowledge(receipt=made(dressed, now), by=PARENT, stamp=now)
    setattr(receipt, column, value)
    assert not is_intact(receipt)


def test_names_can_be_taken_out_and_the_seal_still_stands(dressed: Player, now: Stamp) -> None:
    receipt = acknowledge(receipt=made(dressed, now), by=PARENT, stamp=now)
    receipt.player_name = receipt.acknowledged_name = receipt.salt = ""
    assert is_intact(receipt)


def test_of_somebody_who_was_removed_nothing_is_made_and_nothing_acknowledged(player: Player, now: Stamp) -> None:
    [jersey] = hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY)], stamp=now)
    signed = make_acknowledged(new=NewReceipt(player), by=PARENT, stamp=now)
    waiting = made(player, later(now, minutes=1))
    take_back_counted(new=[NewReturn(jersey)], stamp=later(now, minutes=2))
    remove_person(player=player, stamp=later(now, minutes=3))
    signed.refresh_from_db()

    assert (signed.player_name, signed.acknowledged_name, is_intact(signed)) == ("", "", True)
    with pytest.raises(ConflictError) as making:
        made(player, now)
    with pytest.raises(ConflictError) as signing:
        acknowledge(receipt=waiting, by=PARENT, stamp=now)
    assert (making.value.code, signing.value.code) == ("person_removed", "person_removed")


def test_the_ledger_holds_the_seal_and_no_name(dressed: Player, item: Item, now: Stamp) -> None:
    receipt = acknowledge(receipt=made(dressed, now), by=PARENT, stamp=now)
    text = LedgerEvent.objects.get(action="receipt_acknowledged").text

    assert receipt.seal in text
    assert "Example" not in text
    assert dressed.family_name not in text
    assert [row["words"] for row in history_of(item.id, item.organisation_id)][-2:] == [
        "A receipt was made of it.",
        "Its receipt was acknowledged.",
    ]


def test_the_same_acknowledgement_again_changes_nothing_and_another_is_refused(dressed: Player, now: Stamp) -> None:
    receipt = acknowledge(receipt=made(dressed, now), by=PARENT, stamp=now)
    again = acknowledge(receipt=receipt, by=PARENT, stamp=later(now, days=1))
    with pytest.raises(ConflictError) as refused:
        acknowledge(receipt=receipt, by=replace(PARENT, name="Robin Example"), stamp=now)

    assert (again.seal, again.acknowledged_at, again.version) == (receipt.seal, now.at, receipt.version)
    assert refused.value.code == "acknowledged_already"


def test_a_new_one_takes_the_place_of_one_that_nobody_acknowledged(dressed: Player, now: Stamp) -> None:
    first, second = made(dressed, now), made(dressed, later(now, minutes=1))
    with pytest.raises(ConflictError) as refused:
        acknowledge(receipt=first, by=PARENT, stamp=now)
    acknowledge(receipt=second, by=PARENT, stamp=later(now, minutes=2))
    made(dressed, later(now, minutes=3))
    second.refresh_from_db()

    assert refused.value.code == "replaced"
    assert (second.replaced_at, is_intact(second)) == (None, True)


def test_what_the_player_no_longer_has_is_not_acknowledged(dressed: Player, now: Stamp) -> None:
    receipt = made(dressed, now)
    return_item(assignment=dressed.assignments.get(), at=None, condition="", stamp=later(now, minutes=1))
    with pytest.raises(ConflictError) as refused:
        acknowledge(receipt=receipt, by=PARENT, stamp=later(now, minutes=2))

    assert refused.value.code == "changed_since"


def test_what_was_seen_before_must_still_be_so_when_it_is_made(dressed: Player, item: Item, now: Stamp) -> None:
    seen = made(dressed, now).digest
    new = NewReceipt(dressed, seen=seen)
    make_acknowledged(new=new, by=PARENT, stamp=now)
    put_on(ItemFactory.create(club=item.club), dressed, at=later(now, minutes=1).at)
    with pytest.raises(ConflictError) as refused:
        make_acknowledged(new=new, by=PARENT, stamp=later(now, minutes=2))

    assert refused.value.code == "changed_since"
    assert not Receipt.objects.filter(acknowledged_at__isnull=True, replaced_at__isnull=True).exists()


def test_a_mouthguard_stands_on_receipts_until_one_is_acknowledged(player: Player, now: Stamp) -> None:
    hand_out_counted(new=[NewCounted(player, CountedKind.MOUTHGUARD)], stamp=now)
    signed = make_acknowledged(new=NewReceipt(player), by=PARENT, stamp=later(now, minutes=1))
    [jersey] = hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY)], stamp=later(now, minutes=2))

    assert [line["kind"] for line in signed.shown["counted"]] == ["mouthguard"]
    assert [line["kind"] for line in made(player, later(now, minutes=3)).shown["counted"]] == ["jersey"]
    take_back_counted(new=[NewReturn(jersey)], stamp=later(now, minutes=4))
    with pytest.raises(ConflictError) as refused:
        made(player, later(now, minutes=5))
    assert refused.value.code == "nothing_held"


@pytest.mark.parametrize("name", ["", "   ", "x" * 121, "Pat\u200bExample"])
def test_a_name_that_nobody_can_read_is_refused(dressed: Player, now: Stamp, name: str) -> None:
    receipt = made(dressed, now)
    with pytest.raises(InvalidInputError) as refused:
        acknowledge(receipt=receipt, by=Signature(name, SignedAs.PLAYER), stamp=now)
    assert refused.value.faults[0].pointer == "/name"


def test_the_database_keeps_one_waiting_receipt_a_player_and_no_half_a_signature(dressed: Player, now: Stamp) -> None:
    receipt = made(dressed, now)
    copy = Receipt(organisation_id=receipt.organisation_id, player=dressed, shown={}, digest="", made_at=now.at)
    with pytest.raises(IntegrityError), transaction.atomic():
        copy.save(force_insert=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        Receipt.objects.filter(id=receipt.id).update(acknowledged_at=now.at)
