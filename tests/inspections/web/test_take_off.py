"""Worn and must not be: the page that says so, and the two taps that replace it."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from fitting.models import Assignment
from gearlife.domain.vocabulary import Role, Whereabouts
from gearlife.models import Alert, Item, Team
from inspections.models import Inspection
from inspections.operations.inspect import NewInspection, record_inspection
from tests import factories
from tests.factories import AT, ItemFactory, person
from tests.inspections.web.checking import form, look_at, off, page_of, send, worn
from tests.pages import forms, links, seen, sign_in

pytestmark = pytest.mark.django_db


def spare(like: Item, **facts: Any) -> Item:
    """Another of the same model and size in the room, inspected in full today."""
    item = ItemFactory.create(club=like.club, model=like.model, **facts)
    stamp = factories.stamp(factories.officer(like.club))
    record_inspection(new=NewInspection(item, "full", AT), stamp=stamp)
    return item


def tell(page: Client, item: Item, **typed: str) -> Any:
    """Send the form that notes who was told."""
    [told] = [each.fields for each in forms(page.get(off(item))) if each.fields.get("way") == "told"]
    return page.post(off(item), told | typed)


def handing_out(page: Client, address: str) -> dict[str, Any]:
    """What the form that hands the chosen one out would send."""
    return next(each.fields for each in forms(page.get(address)) if "with" in each.fields)


@pytest.fixture
def cracked(page: Client, team: Team) -> Item:
    """A worn helmet in which a crack was just found; a team mate's is still to be looked at."""
    item = worn(team, 12, given_name="Ada", family_name="Otter")
    worn(team, 30)
    send(page, look_at(item), "something", found=["shell.crack"])
    return item


def test_it_says_take_it_off_of_whom_and_why(page: Client, cracked: Item) -> None:
    text = seen(page.get(off(cracked)))

    assert "Take it off." in text
    assert "12 Ada Otter" in text
    assert "shell: crack (stop)" in text


def test_a_crack_is_replaced_in_two_more_taps_and_the_round_goes_on(page: Client, team: Team, cracked: Item) -> None:
    new = spare(cracked)
    chosen = links(page.get(off(cracked)))[f"Hand this one out ({new.serial})"]
    answer = page.post(chosen, handing_out(page, chosen))

    assert answer.status_code == 303
    old, now = Assignment.objects.get(item=cracked), Assignment.objects.get(item=new)
    assert (old.returned_at, now.replaces_id, now.player_id) == (AT, old.id, old.player_id)
    assert Item.objects.get(id=cracked.id).whereabouts == Whereabouts.STOCK
    assert answer["Location"] == look_at(Item.objects.get(team=team, assignments__player__jersey_number=30))
    assert f"Handed out to 12 Otter: {new.serial}, in place of {cracked.serial}" in seen(page.get(answer["Location"]))


def test_sent_twice_it_is_handed_out_once(page: Client, cracked: Item) -> None:
    new = spare(cracked)
    address = f"{off(cracked)}?with={new.id}"
    sent = handing_out(page, address)

    assert [page.post(address, sent).status_code for _ in range(2)] == [303, 303]
    assert Assignment.objects.filter(item=new).count() == 1


def test_a_replacement_that_nobody_has_looked_at_this_week_is_looked_at_next(page: Client, cracked: Item) -> None:
    new = spare(cracked)
    Inspection.objects.filter(item=new).delete()
    Item.objects.filter(id=new.id).update(last_look_at=None)
    address = f"{off(cracked)}?with={new.id}"
    answer = page.post(address, handing_out(page, address))

    assert answer["Location"] == look_at(new)


def test_a_refusal_names_every_reason_and_nothing_is_handed_out(page: Client, cracked: Item) -> None:
    new = spare(cracked)
    address = f"{off(cracked)}?with={new.id}"
    sent = handing_out(page, address)
    # Meanwhile somebody finds a crack in it, too.
    page.post(look_at(new), form(page, look_at(new), "something") | {"found": ["shell.crack", "hardware.missing"]})
    answer = page.post(address, sent)
    text = seen(answer)

    assert answer.status_code == 409
    assert "shell: crack (stop)" in text
    assert "hardware: missing (stop)" in text
    assert Assignment.objects.get(item=cracked).returned_at is None


def test_the_three_best_are_named_and_no_more(page: Client, cracked: Item) -> None:
    for _ in range(5):
        spare(cracked)

    assert len([words for words in links(page.get(off(cracked))) if words.startswith("Hand this one out")]) == 3


def test_an_empty_room_says_so(page: Client, cracked: Item) -> None:
    assert "nothing that could be handed out instead" in seen(page.get(off(cracked)))


def test_gear_at_home_is_told_to_somebody_and_stays_open(page: Client, team: Team, cracked: Item) -> None:
    answer = tell(page, cracked, told_whom="his mother", told_at="2026-10-14T10:30")
    [alert] = Alert.objects.filter(item=cracked, severity="stop")

    # Half past ten in Chicago is half past three by UTC.
    assert (alert.told_whom, alert.told_at) == ("his mother", AT - timedelta(minutes=30))
    assert alert.closed_at is None
    assert answer.status_code == 303
    assert "must not be worn" in seen(page.get(off(cracked))) or "Take it off." in seen(page.get(off(cracked)))
    assert cracked.serial in seen(page.get(page_of(team)))


@pytest.mark.parametrize(
    ("typed", "said"),
    [({"told_whom": ""}, "Write who was told"), ({"told_whom": "A", "told_at": "noon"}, "This is no moment: noon")],
)
def test_what_cannot_be_read_is_refused(page: Client, cracked: Item, typed: dict[str, str], said: str) -> None:
    answer = tell(page, cracked, **typed)

    assert answer.status_code == 400
    assert said in seen(answer)
    assert not Alert.objects.filter(acknowledged_at__isnull=False).exists()


def test_the_form_of_another_item_is_refused(page: Client, team: Team, cracked: Item) -> None:
    new = spare(cracked)
    other = Assignment.objects.get(player__jersey_number=30)
    address = f"{off(cracked)}?with={new.id}"
    answer = page.post(address, handing_out(page, address) | {"assignment": str(other.id)})

    assert answer.status_code == 409
    assert not Assignment.objects.filter(item=new).exists()


def test_what_nobody_wears_any_more_says_so(page: Client, cracked: Item) -> None:
    address = f"{off(cracked)}?with={spare(cracked).id}"
    page.post(address, handing_out(page, address))

    assert "No player that you may see has it." in seen(page.get(off(cracked)))


def test_a_coach_is_told_whom_to_call_and_hands_nothing_out(client: Client, team: Team, cracked: Item) -> None:
    sign_in(client, person(Role.COACH, at=team))
    shown = client.get(off(cracked))

    assert "tell the equipment manager now" in seen(shown)
    assert client.post(off(cracked), {"way": "told", "told_whom": "me"}).status_code == 403
