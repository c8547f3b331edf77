"""Pads and parts on pages: what is in an item, the change of one, the makers' lists, the shelf, guards."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Hold, Item, Team
from inspections.domain.part_stock import StockAct
from inspections.models import ApprovedPart, Faceguard, PadChange, PadPosition, PartPolicy, PartStock
from tests.factories import ClubFactory, ItemFactory, OrganisationFactory, person, stamp
from tests.inspections.parts import guard, list_parts, put_in, shelve
from tests.pages import forms, links, seen, sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def helmet(item: Item) -> Item:
    list_parts(item.model)
    return item


@pytest.fixture
def administrator(club: Club, standing_clock: None) -> Client:
    return sign_in(Client(), person(Role.ADMINISTRATOR, at=club.organisation))


def gear_page(item: Item) -> str:
    return reverse("gearlife:item", args=[item.id])


def change_page(item: Item, code: str = "crown") -> str:
    return reverse("inspections:change-part", args=[item.id, PadPosition.objects.get(model=item.model, code=code).id])


def send(client: Client, address: str, what: str = "", **typed: Any) -> Any:
    """Open the page and send one of its forms: the one of this `what`, or that which has what is typed."""
    posted = [form.fields for form in forms(client.get(address)) if form.method == "post"]
    if what:
        [fields] = [each for each in posted if each.get("what") == what][:1]
    else:
        fields = next(each for each in posted if "id" in each)
    return client.post(address, fields | typed)


def listed(part: str) -> str:
    return f"listed:{ApprovedPart.objects.get(part=part).id}"


def test_the_items_page_says_what_is_in_each_position_since_when_and_by_whom(page: Client, helmet: Item) -> None:
    officer = person(Role.OFFICER, at=helmet.club)
    put_in(helmet, "crown", "Crown 20", stamp(helmet.organisation))
    text = seen(page.get(gear_page(helmet)))

    assert "Pads and parts" in text
    assert "Crown 20, 20 mm" in text
    assert "since" in text
    assert "What is in it is not recorded." in text
    assert officer.username not in text


def test_a_model_without_positions_says_where_they_are_entered(page: Client, item: Item) -> None:
    shown = page.get(gear_page(item))
    assert "No positions of this model are entered yet" in seen(shown)
    assert links(shown)["Enter them from the maker's booklet"] == f"/settings/models/{item.model_id}/parts/"


def test_a_part_of_the_list_is_changed_in_two_taps_and_a_second_tap_does_nothing(page: Client, helmet: Item) -> None:
    address = links(page.get(gear_page(helmet)))["Say what is in it Crown"]
    fields = next(form.fields for form in forms(page.get(address)) if "id" in form.fields)
    sent = fields | {"goes_in": listed("Crown 25")}
    answers = [page.post(address, sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    change = PadChange.objects.get()
    assert (change.part, change.thickness_mm, change.approved) == ("Crown 25", 25.0, True)
    text = seen(page.get(gear_page(helmet)))
    assert "Crown 25, 25 mm" in text
    assert f"recorded by {change.recorded_by.username}" in text  # type: ignore[union-attr] # an officer did it


def test_another_part_needs_a_reason_and_then_stops_the_item(page: Client, helmet: Item) -> None:
    other = {"goes_in": "other", "part": "Home-made", "thickness_mm": "22,5"}
    refused = send(page, change_page(helmet), **other)
    assert refused.status_code == 400
    assert "give a reason" in seen(refused)
    assert 'value="Home-made"' in refused.content.decode()

    assert send(page, change_page(helmet), **other, reason="nothing else was there").status_code == 303
    assert PadChange.objects.get().thickness_mm == 22.5
    assert Hold.objects.open().filter(item=helmet).count() == 1
    assert "None of the parts that the maker approves. nothing else was there" in seen(page.get(gear_page(helmet)))


def test_nothing_chosen_is_refused_in_words(page: Client, helmet: Item) -> None:
    for chosen in ("", "listed:1", "guard:x", "else"):
        refused = send(page, change_page(helmet), goes_in=chosen)
        assert refused.status_code == 400, chosen
    assert not PadChange.objects.exists()


def test_a_guard_is_chosen_by_its_label_and_an_earlier_day_may_be_said(page: Client, helmet: Item) -> None:
    bars = guard(helmet.club, label_year=2025)
    shown = seen(page.get(change_page(helmet, "guard")))
    assert "Bars 4 G-1 (label of 2025)" in shown
    send(page, change_page(helmet, "guard"), goes_in=f"guard:{bars.id}", changed_on="2026-10-01")
    change = PadChange.objects.get()
    assert (change.faceguard, change.changed_at.date().isoformat()) == (bars, "2026-10-01")


def test_of_a_guard_on_another_helmet_it_is_said_which_is_left_without(page: Client, helmet: Item) -> None:
    other, own = ItemFactory.create(club=helmet.club, model=helmet.model), stamp(helmet.organisation)
    worn, free = guard(helmet.club, "G-1"), guard(helmet.club, "G-2")
    put_in(other, "guard", "", own, faceguard=free)
    put_in(other, "guard", "", own, faceguard=worn)
    text = seen(page.get(change_page(helmet, "guard")))
    assert f"Bars 4 G-1 (certification not recorded; now on {other.label}, which is stopped without it)" in text
    assert "Bars 4 G-2 (certification not recorded)" in text


def test_clips_are_counted_and_what_was_in_it_is_only_noted(page: Client, helmet: Item) -> None:
    shelve(helmet.club, "Clip", 9, StockAct.COUNTED)
    assert "Clip (the room has 9)" in seen(page.get(change_page(helmet, "clip")))
    send(page, change_page(helmet, "clip"), goes_in=listed("Clip"), count="3")
    send(page, change_page(helmet, "clip"), goes_in=listed("Clip"), as_found="yes")
    assert PartStock.objects.get().count == 6


def test_a_position_of_another_model_is_404(page: Client, helmet: Item) -> None:
    other = ItemFactory.create(club=helmet.club)
    list_parts(other.model)
    address = reverse("inspections:change-part", args=[helmet.id, PadPosition.objects.filter(model=other.model)[0].id])
    assert page.get(address).status_code == 404


def test_a_coach_reads_and_changes_nothing(club: Club, team: Team, helmet: Item, standing_clock: None) -> None:
    Item.objects.filter(id=helmet.id).update(team=team)
    coach = sign_in(Client(), person(Role.COACH, at=team))
    shown = coach.get(gear_page(helmet))
    assert "Pads and parts" in seen(shown)
    assert "Say what is in it Crown" not in links(shown)
    assert coach.get(change_page(helmet)).status_code == 403
    shelf = reverse("inspections:club-parts", args=[club.id])
    assert (coach.get(shelf).status_code, coach.post(shelf, {}).status_code) == (200, 403)


def test_positions_and_parts_are_entered_from_the_booklet(page: Client, item: Item) -> None:
    address = reverse("inspections:model-parts", args=[item.model_id])
    assert "No position is entered yet." in seen(page.get(address))
    send(page, address, "position", label="Jaw pad, left", sort="jaw_pad", count="1", required="yes")
    position = PadPosition.objects.get()
    assert (position.code, position.sort, position.required) == ("jaw_pad_left", "jaw_pad", True)

    sent = send(page, address, "part", part="Jaw 12", thickness_mm="12", stated_in="booklet, page 4")
    assert sent.status_code == 303
    assert "Jaw 12, 12 mm" in seen(page.get(address))
    send(page, address, "strike")
    send(page, address, "remove")
    assert (ApprovedPart.objects.count(), PadPosition.objects.count()) == (0, 0)


@pytest.mark.parametrize("thickness", ["thick", "nan", "-1", "1e9"])
def test_a_thickness_that_is_none_is_refused(page: Client, helmet: Item, thickness: str) -> None:
    address = reverse("inspections:model-parts", args=[helmet.model_id])
    refused = send(page, address, "part", part="Jaw 99", thickness_mm=thickness)
    assert (refused.status_code, ApprovedPart.objects.filter(part="Jaw 99").exists()) == (400, False)


def test_the_models_page_leads_to_the_lists(page: Client, helmet: Item) -> None:
    shown = links(page.get(reverse("gearlife:models")))
    assert shown[f"Pads and parts {helmet.model.name}"] == f"/settings/models/{helmet.model_id}/parts/"


def test_an_administrator_decides_what_an_unapproved_part_does(
    page: Client, administrator: Client, helmet: Item
) -> None:
    address = reverse("inspections:unapproved-parts")
    assert "They stop the item" in seen(page.get(address))
    assert page.post(address, {"does": "note", "reason": "x"}).status_code == 403
    assert send(administrator, address, does="note", reason="").status_code == 400
    assert send(administrator, address, does="note", reason="our lists are not entered yet").status_code == 303
    assert not PartPolicy.objects.get().hold_unapproved
    assert "They are noted with their reason" in seen(page.get(address))


def test_the_shelf_adds_what_came_says_what_was_counted_and_asks_for_a_new_count(page: Client, helmet: Item) -> None:
    address = reverse("inspections:club-parts", args=[helmet.club_id])
    assert page.get(reverse("inspections:parts"))["Location"] == address
    assert "No part is counted here yet." in seen(page.get(address))
    send(page, address, part="Crown 20", count="1", act="delivered")
    own = stamp(helmet.organisation)
    for _ in range(2):
        put_in(helmet, "crown", "Crown 20", own)
    text = seen(page.get(address))
    assert "Count again: more were used than there were by the count." in text
    assert f"1 Crown 20: put into {helmet.label}" in text

    send(page, address, part="Crown 20", count="5", act="counted")
    assert "Count again" not in seen(page.get(address))
    assert PartStock.objects.get().count == 5


@pytest.mark.parametrize("typed", [{"count": ""}, {"count": "-1"}, {"part": ""}, {"act": "used"}])
def test_what_is_no_delivery_is_refused(page: Client, helmet: Item, typed: dict[str, str]) -> None:
    address = reverse("inspections:club-parts", args=[helmet.club_id])
    refused = send(page, address, **{"part": "Crown 20", "count": "1", "act": "delivered", **typed})
    assert (refused.status_code, PartStock.objects.count()) == (400, 0)


def test_an_administrator_of_several_clubs_chooses_one(administrator: Client, helmet: Item) -> None:
    ClubFactory.create(organisation=helmet.organisation)
    shown = administrator.get(reverse("inspections:parts"))
    assert f"See the shelf {helmet.club.name}" in links(shown)


def test_a_guard_is_taken_in_and_its_page_says_which_helmet_wore_it(page: Client, helmet: Item) -> None:
    address = reverse("inspections:club-guards", args=[helmet.club_id])
    assert "No faceguard has a label of its own here yet." in seen(page.get(address))
    send(page, address, label="G-9", part="Bars 4", label_year="2025")
    bars = Faceguard.objects.get()
    one = reverse("inspections:faceguard", args=[bars.id])
    assert "It has been on no helmet yet." in seen(page.get(one))

    put_in(helmet, "guard", "", stamp(helmet.organisation), faceguard=bars)
    assert links(page.get(one))[helmet.label] == gear_page(helmet)
    assert links(page.get(gear_page(helmet)))["Bars 4 G-9"] == one
    send_date = page.post(one, {"what": "date", "certified_on": "2025-02-01", "label_year": ""})
    assert send_date.status_code == 303
    page.post(one, {"what": "discard"})
    bars.refresh_from_db()
    assert (str(bars.certified_on), str(bars.discarded_on)) == ("2025-02-01", "2026-10-14")
    # It is still on the helmet, and offered for none.
    assert "Bars 4 G-9 (" not in seen(page.get(change_page(helmet, "guard")))


def test_another_organisations_guard_shelf_and_list_are_404(page: Client) -> None:
    far = ClubFactory.create(organisation=OrganisationFactory.create())
    item = ItemFactory.create(club=far)
    list_parts(item.model)
    for name, id_ in (
        ("club-parts", far.id),
        ("club-guards", far.id),
        ("faceguard", guard(far).id),
        ("model-parts", item.model_id),
    ):
        assert page.get(reverse(f"inspections:{name}", args=[id_])).status_code == 404, name


def test_pages_ask_as_much_for_many_as_for_few(page: Client, helmet: Item) -> None:
    def asked(number: int) -> list[int]:
        for each in range(number):
            shelve(helmet.club, f"Part {number} {each}", 3)
            bars = guard(helmet.club, f"G {number} {each}")
            put_in(helmet, "guard", "", stamp(helmet.organisation), faceguard=bars)
        addresses = [
            gear_page(helmet),
            change_page(helmet, "guard"),
            reverse("inspections:club-parts", args=[helmet.club_id]),
            reverse("inspections:club-guards", args=[helmet.club_id]),
            reverse("inspections:model-parts", args=[helmet.model_id]),
            reverse("inspections:faceguard", args=[guard(helmet.club, f"H {number}").id]),
        ]
        counts = []
        for address in addresses:
            with CaptureQueriesContext(connection) as captured:
                assert page.get(address).status_code == 200
            counts.append(len(captured))
        return counts

    few, many = asked(2), asked(20)
    # The first page asks besides for what is then remembered.
    assert [most <= least for least, most in zip(few, many, strict=True)] == [True] * 6
