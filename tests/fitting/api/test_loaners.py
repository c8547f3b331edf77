"""Loaners over the API: set up once, ready or why not, lent by an assignment, ended by an act; each club's own."""

import pytest

from fitting.models import Loaner, Player
from gearlife.domain.ids import uuid7
from gearlife.models import Club, Item
from tests.factories import ItemFactory
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db
BAND = {"measure": "head_circumference", "from_mm": 550.5, "to_mm": 580}


def test_it_is_set_up_once_lent_and_ended(officer: Caller, item: Item, player: Player) -> None:
    address = f"loaners/{uuid7()}/"
    body = {"item": str(item.id), "bands": [BAND], "pads_and_air": "thick side pads"}
    answers = [officer("PUT", address, body) for _ in range(2)]
    row = answers[0].json()

    assert [answer.status_code for answer in answers] == [201, 200]
    assert (row["bands"], row["size"], row["ready"], row["not_ready_because"]) == ([BAND], "M", True, [])
    assert row["prepared_by"].startswith("person-")
    lent = officer("POST", "assignments/", {"item": str(item.id), "player": str(player.id), "loan": True}).json()
    assert "Pre-fitted for its band" in lent["warnings"][0]["detail"]
    [out] = officer("GET", f"loaners/?open=true&item={item.id}&kind=helmet").json()["results"]
    assert (out["ready"], len(out["not_ready_because"])) == (False, 1)
    ended = [officer("POST", address + "end/", {}).json() for _ in range(2)]
    assert [(each["ready"], each["ended_by"]) for each in ended] == [(False, "no_loaner")] * 2
    assert officer("GET", "loaners/?open=true").json()["results"] == []


def test_what_is_no_band_of_this_gear_is_refused_by_its_place(officer: Caller, item: Item) -> None:
    chest = {"measure": "chest_circumference", "from_mm": 800, "to_mm": 900}
    refused = [
        officer("POST", "loaners/", {"item": str(item.id), "bands": bands})
        for bands in ([BAND, chest], [BAND | {"from_mm": 590}], [BAND | {"from_mm": 55}], [])
    ]

    assert [answer.status_code for answer in refused] == [400] * 4
    assert [pointers(answer) for answer in refused] == [
        {"/bands/1/measure"},
        {"/bands/0/from_mm"},
        {"/bands/0/from_mm"},
        {"/bands"},
    ]
    assert not Loaner.objects.exists()


def test_a_stopped_item_and_one_of_another_club_are_not_set_up(officer: Caller, item: Item) -> None:
    officer("POST", f"items/{item.id}/hold/", {"reason": "Loose rivet."})
    stopped = officer("POST", "loaners/", {"item": str(item.id), "bands": [BAND]})
    foreign = officer("POST", "loaners/", {"item": str(ItemFactory.create().id), "bands": [BAND]})

    assert (stopped.status_code, stopped.json()["code"]) == (409, "stopped")
    assert (foreign.status_code, pointers(foreign)) == (400, {"/item"})


def test_a_coach_sees_what_is_of_the_own_team_and_sets_nothing_up(
    officer: Caller, coach: Caller, club: Club, item: Item
) -> None:
    officer("POST", "loaners/", {"item": str(item.id), "bands": [BAND]})

    assert coach("GET", "loaners/").json()["results"] == []
    assert coach("POST", "loaners/", {"item": str(item.id), "bands": [BAND]}).status_code == 403
