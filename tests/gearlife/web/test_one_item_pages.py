"""One item taken in by hand, and what is recorded of one changed."""

import pytest
from django.test import Client

from fitting.models import Player
from gearlife.domain.vocabulary import Evidence, Role
from gearlife.models import Club, Item, LedgerEvent, Team, User
from tests.factories import (
    ClubFactory,
    ItemFactory,
    ModelFactory,
    TeamFactory,
    pads,
    person,
)
from tests.pages import fields, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


def browse(user: User) -> Client:
    return sign_in(Client(), user)


def test_one_item_is_taken_in_by_hand_once(browser: Client, club: Club) -> None:
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    form = fields(browser.get("/gear/new/")) | {"club": str(club.id), "model": str(model.id), "serial": "N-1"}
    form |= {"made_on": "2026-03", "made_on_evidence": "label", "add_ons": "shield\ncover"}
    assert [browser.post("/gear/new/", form).status_code for _ in range(2)] == [303, 303]
    made = Item.objects.get()
    assert (made.serial, made.made_on, made.made_on_evidence, made.add_ons) == (
        "N-1",
        "2026-03",
        Evidence.LABEL,
        ["shield", "cover"],
    )


def test_a_serial_that_is_known_is_refused_with_its_words(browser: Client, club: Club) -> None:
    known = ItemFactory.create(club=club)
    form = fields(browser.get("/gear/new/"))
    form |= {"club": str(club.id), "model": str(known.model_id), "serial": known.serial, "made_on_evidence": "label"}
    answer = browser.post("/gear/new/", form | {"made_on": "2026-03"})
    assert answer.status_code == 409
    assert "is registered already" in seen(answer)


def test_a_new_item_may_not_join_another_clubs_team(browser: Client, club: Club) -> None:
    other = TeamFactory.create(club=ClubFactory.create(organisation=club.organisation))
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    administrator = browse(person(Role.ADMINISTRATOR, at=club.organisation))
    form = fields(administrator.get("/gear/new/")) | {"club": str(club.id), "model": str(model.id), "serial": "N-1"}
    answer = administrator.post("/gear/new/", form | {"team": str(other.id)})
    assert answer.status_code == 400
    assert not Item.objects.exists()


def test_a_change_is_recorded_and_a_date_of_manufacture_needs_its_evidence(browser: Client, club: Club) -> None:
    item = ItemFactory.create(club=club, made_on="")
    where = f"/gear/{item.id}/change/"
    form = fields(browser.get(where)) | {"colour": "white", "made_on": "2025-03", "made_on_evidence": "unknown"}
    refused = browser.post(where, form)
    assert refused.status_code == 400
    assert "Say how the date of manufacture is known." in seen(refused)
    assert fields(refused)["colour"] == "white"
    assert browser.post(where, form | {"made_on_evidence": "makers_letter"}).status_code == 303
    item.refresh_from_db()
    assert (item.colour, item.made_on, item.made_on_evidence) == ("white", "2025-03", Evidence.MAKERS_LETTER)


def test_a_form_that_changes_nothing_writes_nothing(browser: Client, club: Club) -> None:
    item = ItemFactory.create(club=club)
    events = LedgerEvent.objects.count()
    where = f"/gear/{item.id}/change/"
    assert browser.post(where, fields(browser.get(where))).status_code == 303
    assert LedgerEvent.objects.count() == events


def test_a_change_from_an_old_form_is_refused(browser: Client, club: Club) -> None:
    item = ItemFactory.create(club=club)
    where = f"/gear/{item.id}/change/"
    form = fields(browser.get(where))
    browser.post(where, form | {"colour": "white"})
    answer = browser.post(where, form | {"colour": "black"})
    assert answer.status_code == 409
    assert "Somebody has changed this item meanwhile" in seen(answer)


def test_a_model_of_another_kind_is_refused(browser: Client, club: Club) -> None:
    item = ItemFactory.create(club=club)
    pad = pads(club)
    where = f"/gear/{item.id}/change/"
    answer = browser.post(where, fields(browser.get(where)) | {"model": str(pad.model_id)})
    assert answer.status_code == 400
    assert "the model is of another kind" in seen(answer)


def test_who_does_not_act_changes_nothing(club: Club, team: Team) -> None:
    item = ItemFactory.create(club=club, team=team)
    for role, at in ((Role.COACH, team), (Role.AUDITOR, club.organisation)):
        browser = browse(person(role, at=at))
        assert browser.get("/gear/").status_code == 200
        assert browser.get("/gear/new/").status_code == 403
        assert browser.get(f"/gear/{item.id}/change/").status_code == 403
    assert Player.objects.count() == 0


@pytest.mark.parametrize("serial", ["TL\u200b132095", "AB\u202e12"])
def test_a_serial_that_nobody_can_type_again_is_refused(browser: Client, club: Club, serial: str) -> None:
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    form = fields(browser.get("/gear/new/")) | {"club": str(club.id), "model": str(model.id), "serial": serial}
    answer = browser.post("/gear/new/", form)
    assert answer.status_code == 400
    assert "invisible character U+20" in seen(answer)

    item = ItemFactory.create(club=club, model=model)
    changed = browser.post(
        f"/gear/{item.id}/change/", fields(browser.get(f"/gear/{item.id}/change/")) | {"serial": serial}
    )
    assert changed.status_code == 400
    assert Item.objects.get(id=item.id).serial == item.serial
