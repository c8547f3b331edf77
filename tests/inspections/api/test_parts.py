"""Pads and parts over the API: lists of makers, changes that phones send, guards, counts."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.ids import uuid7
from gearlife.models import Club, Hold, Item, Team
from inspections.models import PadChange, PadPosition, PartStock, StockEntry
from tests.factories import AT, ItemFactory, stamp
from tests.gearlife.api.base_probe import Caller
from tests.inspections.parts import guard, list_parts, put_in, shelve

pytestmark = pytest.mark.django_db


@pytest.fixture
def helmet(item: Item) -> Item:
    list_parts(item.model)
    return item


def body(item: Item, part: str = "Crown 20", **more: Any) -> dict[str, Any]:
    return {"item": str(item.id), "position": "crown", "part": part, **more}


def configuration(caller: Caller, item: Item, query: str = "") -> dict[str, dict[str, Any]]:
    rows = caller("GET", f"items/{item.id}/configuration/{query}").json()["results"]
    return {row["position"]: row for row in rows}


def test_a_put_under_the_phones_id_is_one_change_however_often_it_is_sent(officer: Caller, helmet: Item) -> None:
    shelve(helmet.club, "Crown 20", 3)
    path = f"pad-changes/{uuid7()}/"
    answers = [officer("PUT", path, body(helmet)) for _ in range(3)]

    assert [answer.status_code for answer in answers] == [201, 200, 200]
    assert answers[0].json() == answers[2].json()
    assert (PadChange.objects.count(), StockEntry.objects.filter(act="used").count()) == (1, 1)
    assert PartStock.objects.get().count == 2
    assert officer("PUT", path, body(helmet, "Crown 25")).status_code == 409


def test_the_answer_has_what_the_makers_list_says(officer: Caller, helmet: Item) -> None:
    answer = officer("POST", "pad-changes/", body(helmet)).json()
    told = {name: answer[name] for name in ("position", "part", "thickness_mm", "count", "approved", "faceguard")}
    assert told == {
        "position": "crown",
        "part": "Crown 20",
        "thickness_mm": 20.0,
        "count": 1,
        "approved": True,
        "faceguard": None,
    }


def test_an_unapproved_part_is_400_at_its_reason_and_then_a_hold(officer: Caller, helmet: Item) -> None:
    refused = officer("POST", "pad-changes/", body(helmet, "Home-made"))
    assert refused.status_code == 400
    assert [(error["pointer"], error["code"]) for error in refused.json()["errors"]] == [("/reason", "unapproved_part")]
    assert "give a reason" in refused.json()["detail"]

    assert officer("POST", "pad-changes/", body(helmet, "Home-made", reason="none left")).status_code == 201
    assert officer("GET", f"items/{helmet.id}/").json()["standing"] == "stopped"
    assert Hold.objects.get().cause == "parts"


def test_an_unknown_position_names_those_of_the_model(officer: Caller, helmet: Item) -> None:
    refused = officer("POST", "pad-changes/", body(helmet) | {"position": "brow"}).json()
    assert refused["errors"][0]["pointer"] == "/position"
    assert "`crown`, `jaw`, `guard`, `clip`" in refused["errors"][0]["detail"]


@pytest.mark.parametrize("thickness", ["20", -1, 1e9, True])
def test_a_thickness_that_is_none_is_400_where_it_is(officer: Caller, helmet: Item, thickness: object) -> None:
    refused = officer("POST", "pad-changes/", body(helmet, thickness_mm=thickness))
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/thickness_mm")


def test_the_configuration_of_a_day_and_now(officer: Caller, helmet: Item) -> None:
    long_ago = (AT - timedelta(days=30)).isoformat()
    officer("POST", "pad-changes/", body(helmet, changed_at=long_ago))
    officer("POST", "pad-changes/", body(helmet, "Crown 25"))

    now, then = configuration(officer, helmet), configuration(officer, helmet, "?on=2026-10-01")
    assert list(now) == ["crown", "jaw", "guard", "clip"]
    assert (now["crown"]["part"], then["crown"]["part"]) == ("Crown 25", "Crown 20")
    assert (now["jaw"]["known"], now["jaw"]["since"]) == (False, None)
    assert not configuration(officer, helmet, "?on=2026-09-01")["crown"]["known"]
    refused = officer("GET", f"items/{helmet.id}/configuration/?on=May")
    assert (refused.status_code, refused.json()["errors"][0]["parameter"]) == (400, "on")


def test_a_configuration_asks_as_much_after_many_changes_as_after_few(officer: Caller, helmet: Item) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            configuration(officer, helmet)
        return len(captured)

    own = stamp(helmet.organisation)
    put_in(helmet, "guard", "", own, faceguard=guard(helmet.club))
    few = asked()
    for number in range(20):
        put_in(helmet, "crown", f"Crown {20 + 5 * (number % 2)}", own)
    assert asked() == few


def test_a_coach_reads_the_own_teams_changes_and_makes_none(
    coach: Caller, officer: Caller, club: Club, team: Team, helmet: Item
) -> None:
    own = ItemFactory.create(club=club, team=team, model=helmet.model)
    for item in (own, helmet):
        officer("POST", "pad-changes/", body(item))
    assert [row["item"] for row in coach("GET", "pad-changes/").json()["results"]] == [str(own.id)]
    assert coach("GET", f"items/{helmet.id}/configuration/").status_code == 404
    assert coach("POST", "pad-changes/", body(own)).status_code == 403


def test_changes_are_filtered_by_item_guard_and_whether_they_are_approved(officer: Caller, helmet: Item) -> None:
    bars = guard(helmet.club)
    officer("POST", "pad-changes/", body(helmet))
    officer("POST", "pad-changes/", body(helmet, "Home-made", reason="none left"))
    officer("POST", "pad-changes/", {"item": str(helmet.id), "position": "guard", "faceguard": str(bars.id)})

    def parts(query: str) -> set[str]:
        return {row["part"] for row in officer("GET", f"pad-changes/?{query}").json()["results"]}

    assert parts("approved=false") == {"Home-made"}
    assert parts(f"faceguard={bars.id}") == {"Bars 4"}
    assert parts("changed_after=2026-10-15T00:00:00Z") == set()


def test_positions_and_parts_are_entered_changed_and_removed(officer: Caller, item: Item) -> None:
    model = str(item.model_id)
    new = {"model": model, "code": "crown", "label": "Crown pad", "sort": "pad"}
    made = officer("POST", "pad-positions/", new)
    assert (made.status_code, made.json()["count"], made.json()["required"]) == (201, 1, True)
    again = officer("POST", "pad-positions/", new)
    assert (again.status_code, again.json()["code"]) == (409, "name_taken")

    path = f"pad-positions/{made.json()['id']}/"
    changed = officer("PATCH", path, {"required": False}, If_Match="*")
    assert (changed.status_code, changed.json()["required"]) == (200, False)

    part = {"position": made.json()["id"], "part": "Crown 20", "thickness_mm": 20, "stated_in": "booklet, page 3"}
    listed = officer("POST", "approved-parts/", part)
    assert (listed.status_code, listed.json()["model"]) == (201, model)
    assert officer("DELETE", f"approved-parts/{listed.json()['id']}/", If_Match="*").status_code == 204
    assert officer("DELETE", path, If_Match="*").status_code == 204
    assert not PadPosition.objects.exists()


def test_a_position_that_something_was_put_into_stays(officer: Caller, helmet: Item) -> None:
    officer("POST", "pad-changes/", body(helmet))
    position = PadPosition.objects.get(code="crown")
    refused = officer("DELETE", f"pad-positions/{position.id}/", If_Match="*")
    assert (refused.status_code, refused.json()["code"]) == (409, "in_use")


def test_a_guards_history_says_which_helmet_it_was_on(officer: Caller, club: Club, helmet: Item) -> None:
    other = ItemFactory.create(club=club, model=helmet.model)
    made = officer("POST", "faceguards/", {"club": str(club.id), "label": "G-7", "part": "Bars 4", "label_year": 2025})
    bars = made.json()["id"]
    for item, days in ((helmet, 9), (other, 2)):
        moment = (AT - timedelta(days=days)).isoformat()
        sent = {"item": str(item.id), "position": "guard", "faceguard": bars, "changed_at": moment}
        assert officer("POST", "pad-changes/", sent).status_code == 201

    told = officer("GET", f"faceguards/{bars}/history/").json()["results"]
    assert [(stay["item_label"], stay["until"]) for stay in told] == [
        (other.label, None),
        (helmet.label, told[0]["since"]),
    ]
    assert configuration(officer, other)["guard"]["faceguard_label"] == "G-7"
    assert configuration(officer, helmet)["guard"]["part"] == ""


def test_a_coach_sees_of_a_guards_history_the_own_teams_helmets(
    coach: Caller, club: Club, team: Team, helmet: Item
) -> None:
    own, bars = ItemFactory.create(club=club, team=team, model=helmet.model), guard(club)
    for number, item in enumerate((helmet, own)):
        put_in(item, "guard", "", stamp(club.organisation, AT + timedelta(hours=number)), faceguard=bars)
    told = coach("GET", f"faceguards/{bars.id}/history/").json()["results"]
    assert [stay["item"] for stay in told] == [str(own.id)]


def test_a_guard_is_discarded_and_then_found_only_among_the_discarded(officer: Caller, club: Club) -> None:
    bars = guard(club)
    answer = officer("PATCH", f"faceguards/{bars.id}/", {"discarded_on": "2026-10-01"}, If_Match="*")
    assert answer.json()["discarded_on"] == "2026-10-01"
    assert officer("GET", "faceguards/?discarded=false").json()["results"] == []
    assert len(officer("GET", "faceguards/?discarded=true").json()["results"]) == 1


def test_a_delivery_and_a_count_move_the_stock_once_each(officer: Caller, club: Club) -> None:
    new = {"club": str(club.id), "part": "Crown 20", "act": "delivered", "count": 10}
    path = f"stock-entries/{uuid7()}/"
    assert [officer("PUT", path, new).status_code for _ in range(2)] == [201, 200]
    assert officer("POST", "stock-entries/", new | {"act": "counted", "count": 7}).status_code == 201

    [row] = officer("GET", f"part-stock/?club={club.id}&part=crown 20").json()["results"]
    assert (row["part"], row["count"], row["count_again"]) == ("Crown 20", 7, False)
    assert row["counted_at"] == AT.isoformat().replace("+00:00", "Z")
    entries = officer("GET", "stock-entries/").json()["results"]
    assert {entry["act"]: entry["pad_change"] for entry in entries} == {"delivered": None, "counted": None}


@pytest.mark.parametrize(("member", "value"), [("count", -1), ("count", 1.5), ("act", "used"), ("part", "")])
def test_what_is_no_entry_is_400_where_it_is(officer: Caller, club: Club, member: str, value: object) -> None:
    new = {"club": str(club.id), "part": "Crown 20", "act": "delivered", "count": 1, member: value}
    refused = officer("POST", "stock-entries/", new)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, f"/{member}")


def test_an_administrator_decides_what_an_unapproved_part_does(
    officer: Caller, administrator: Caller, helmet: Item
) -> None:
    decision = {"hold_unapproved": False, "reason": "our lists are not entered yet"}
    assert officer("POST", "part-policies/", decision).status_code == 403
    made = administrator("POST", "part-policies/", decision)
    assert (made.status_code, made.json()["hold_unapproved"]) == (201, False)

    officer("POST", "pad-changes/", body(helmet, "Home-made", reason="none left"))
    assert officer("GET", f"items/{helmet.id}/").json()["standing"] == "no_stop"
