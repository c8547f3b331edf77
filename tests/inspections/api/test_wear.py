"""`items/{id}/wear/` and the part of an item's page: a point that goes from bad to worse is named."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Hold, Item
from tests.factories import AT, ItemFactory, person
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db

GRADES = ("wear", "repair")


def look(by: Caller, item: Item, days_ago: int, *findings: dict[str, Any], **more: Any) -> None:
    at = (AT - timedelta(days=days_ago)).isoformat()
    body = {"item": str(item.id), "inspected_at": at, "findings": list(findings), **more}
    assert by("POST", "inspections/", body).status_code == 201


def guard(grade: str, **more: Any) -> dict[str, Any]:
    return {"point": "faceguard", "grade": grade, **more}


def wears_on(by: Caller, item: Item) -> None:
    look(by, item, 21)
    look(by, item, 14, guard("wear"))
    look(by, item, 7, guard("repair"))


def test_each_point_tells_its_grades_oldest_first(officer: Caller, item: Item) -> None:
    wears_on(officer, item)
    look(officer, item, 1, {"point": "chin_strap", "grade": "wear"}, not_looked_at=["faceguard"])
    rows = officer("GET", f"items/{item.id}/wear/").json()["results"]

    assert [(row["point"], row["worsening"]) for row in rows] == [("chin_strap", False), ("faceguard", True)]
    assert [each["grade"] for each in rows[1]["seen"]] == ["nothing_found", "wear", "repair"]
    assert rows[1]["seen"][0]["on"] == str((AT - timedelta(days=21)).date())


def test_what_was_fixed_on_the_spot_begins_anew(officer: Caller, item: Item) -> None:
    look(officer, item, 14, guard("wear"))
    look(officer, item, 7, guard("repair", fixed_here=True, part="wire, new"))
    look(officer, item, 1, guard("wear"))
    [row] = officer("GET", f"items/{item.id}/wear/").json()["results"]
    assert ([each["put_right"] for each in row["seen"]], row["worsening"]) == ([False, True, False], False)


def test_what_was_dealt_with_when_its_hold_was_ended_begins_anew_and_a_look_that_finds_nothing_mends_nothing(
    officer: Caller, item: Item
) -> None:
    wears_on(officer, item)
    look(officer, item, 1)
    assert officer("GET", f"items/{item.id}/wear/").json()["results"][0]["worsening"]
    [hold] = Hold.objects.filter(item=item)
    release = {"hold": str(hold.id), "reason": "coated again"}
    assert officer("POST", f"items/{item.id}/release/", release).status_code == 200
    [row] = officer("GET", f"items/{item.id}/wear/").json()["results"]
    assert ([each["put_right"] for each in row["seen"]], row["worsening"]) == ([False, False, True, False], False)


def test_of_an_item_that_never_showed_anything_there_is_nothing_to_tell(officer: Caller, item: Item) -> None:
    look(officer, item, 1)
    assert officer("GET", f"items/{item.id}/wear/").json() == {"results": []}


def test_the_page_names_it_at_its_head_and_draws_it(officer: Caller, club: Club, item: Item) -> None:
    wears_on(officer, item)
    page = Client()
    page.force_login(person(Role.OFFICER, at=club))
    shown = page.get(f"/gear/{item.id}/").content.decode()
    assert "goes from bad to worse: nothing found (" in shown
    assert shown.count('<svg class="strokes"') == 1
    other = ItemFactory.create(club=club)
    look(officer, other, 1)
    assert "How it has worn" not in page.get(f"/gear/{other.id}/").content.decode()


def test_it_asks_as_often_for_many_inspections_as_for_few(officer: Caller, item: Item) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert officer("GET", f"items/{item.id}/wear/").status_code == 200
        return len(captured)

    wears_on(officer, item)
    asked()
    few = asked()
    for days in range(30, 60):
        look(officer, item, days, guard(GRADES[days % 2]))
    assert asked() == few
