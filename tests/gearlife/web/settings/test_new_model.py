"""A model that no file has brought along is added by hand, and what wants one says where."""

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import GearModel, Manufacturer
from tests.factories import ClubFactory, ManufacturerFactory, person
from tests.gearlife.web.settings.acting import form_of, send
from tests.pages import seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

PATH = "/settings/models/new/"
TYPED = {"maker": "Tarnwick", "name": "Halyard", "kind": "helmet", "liner": "air", "sizes": "M\nL\n"}


@pytest.fixture
def officer() -> Client:
    return sign_in(Client(), person(Role.OFFICER, at=ClubFactory.create()))


def test_it_is_added_with_its_maker_and_its_sizes(officer: Client) -> None:
    assert send(officer, PATH, **TYPED).status_code == 303
    model = GearModel.objects.get()
    assert (model.manufacturer.name, model.name, model.kind, model.liner) == ("Tarnwick", "Halyard", "helmet", "air")
    assert model.sizes == ["M", "L"]
    assert "Tarnwick Halyard" in seen(officer.get("/settings/models/"))


def test_a_maker_of_that_name_is_found_again_however_it_is_spelled(officer: Client) -> None:
    known = ManufacturerFactory.create(organisation=ClubFactory.create().organisation, name="Tarnwick")
    for name in ("Halyard", "Lantern"):
        send(officer, PATH, **TYPED | {"name": name, "maker": " TARNWICK " if name == "Lantern" else "Tarnwick"})
    assert Manufacturer.objects.exclude(id=known.id).count() == 1
    assert GearModel.objects.count() == 2


def test_sent_twice_it_is_added_once_and_a_second_of_the_name_is_refused(officer: Client) -> None:
    form = form_of(officer.get(PATH)).fields | TYPED
    assert [officer.post(PATH, form).status_code for _ in range(2)] == [303, 303]
    assert GearModel.objects.count() == 1
    again = send(officer, PATH, **TYPED)
    assert (again.status_code, "is known already" in seen(again)) == (409, True)
    assert Manufacturer.objects.count() == 1


def test_without_any_model_taking_in_one_item_says_where_to_add_it(officer: Client) -> None:
    assert "No model is known yet." in seen(officer.get("/gear/new/"))
    send(officer, PATH, **TYPED)
    assert "No model is known yet." not in seen(officer.get("/gear/new/"))


def test_without_any_team_adding_a_player_says_where_to_add_it(officer: Client) -> None:
    assert "There is no team yet" in seen(officer.get("/players/new/"))
