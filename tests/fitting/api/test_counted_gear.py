"""Counted gear and receipts over the API: once for each id, bounded, and names for those who hand gear out."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import CountedGear, CountedReturn, Player
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from gearlife.operations import access
from tests.factories import ClubFactory, PlayerFactory, person, put_on, token
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db


def handed(officer: Caller, player: Player, **body: Any) -> Any:
    answer = officer("POST", "counted-gear/", {"player": str(player.id), "kind": "jersey", "count": 2} | body)
    assert answer.status_code == 201, answer.content
    return answer.json()


def test_a_line_is_handed_out_given_back_in_part_and_listed_while_it_is_out(officer: Caller, player: Player) -> None:
    line = handed(officer, player, size="L", condition_at_issue="new")
    answer = officer("POST", "counted-returns/", {"counted_gear": line["id"], "count": 1, "condition": "torn"})
    assert answer.status_code == 201, answer.content
    [out] = officer("GET", f"counted-gear/?outstanding=true&player={player.id}").json()["results"]
    assert (out["outstanding"], out["given_back"], out["size"]) == (1, 1, "L")
    officer("POST", "counted-returns/", {"counted_gear": line["id"]})
    assert officer("GET", "counted-gear/?outstanding=true").json()["results"] == []
    assert len(officer("GET", "counted-gear/?outstanding=false").json()["results"]) == 1
    assert [row["count"] for row in officer("GET", f"counted-returns/?player={player.id}").json()["results"]] == [1, 1]


def test_sent_twice_under_one_id_it_is_recorded_once(officer: Caller, player: Player) -> None:
    line, back = uuid7(), uuid7()
    body = {"player": str(player.id), "kind": "pants", "count": 2}
    assert [officer("PUT", f"counted-gear/{line}/", body).status_code for _ in range(2)] == [201, 200]
    body = {"counted_gear": str(line), "count": 1}
    assert [officer("PUT", f"counted-returns/{back}/", body).status_code for _ in range(2)] == [201, 200]
    assert (CountedGear.objects.get().given_back, CountedReturn.objects.count()) == (1, 1)


@pytest.mark.parametrize("count", [-1, 0, 21, "x", 1.5, None])
def test_a_number_that_nobody_means_is_a_400_with_its_place(officer: Caller, player: Player, count: object) -> None:
    body = {"player": str(player.id), "kind": "jersey", "count": count}
    answer = officer("POST", "counted-gear/", body)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/count")
    assert not CountedGear.objects.exists()


def test_more_back_than_out_is_a_409_that_says_how_many(officer: Caller, player: Player) -> None:
    line = handed(officer, player)
    answer = officer("POST", "counted-returns/", {"counted_gear": line["id"], "count": 3})
    assert (answer.status_code, answer.json()["code"]) == (409, "more_than_out")
    assert "2 are still out" in answer.json()["detail"]


def test_many_are_handed_out_in_one_request_each_by_itself(officer: Caller, player: Player) -> None:
    entries = [{"player": str(player.id), "kind": kind} for kind in ("jersey", "trousers", "mouthguard")]
    results = officer("POST", "counted-gear/bulk/", {"entries": entries}).json()["results"]
    assert [each["status"] for each in results] == [201, 400, 201]


def test_the_list_asks_as_much_for_many_as_for_few(officer: Caller, club: Club, player: Player) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            officer("GET", "counted-gear/?page_size=200")
            officer("GET", "receipts/?page_size=200")
        return len(captured)

    def grow(count: int) -> None:
        for _ in range(count):
            other = PlayerFactory.create(club=club)
            handed(officer, other)
            officer("POST", "receipts/", {"player": str(other.id)})

    grow(2)
    asked()  # compiles the statements
    few = asked()
    grow(6)
    assert asked() == few


def test_a_receipt_is_made_shown_acknowledged_and_stays(officer: Caller, player: Player, item: Item) -> None:
    put_on(item, player)
    handed(officer, player)
    id_ = uuid7()
    statuses = [officer("PUT", f"receipts/{id_}/", {"player": str(player.id)}).status_code for _ in range(2)]
    receipt = officer("GET", f"receipts/{id_}/").json()
    assert statuses == [201, 200]
    assert ([line["serial"] for line in receipt["gear"]], receipt["counted"][0]["count"]) == ([item.serial], 2)
    assert (receipt["acknowledged_at"], receipt["seal"]) == (None, "")
    signed = {"name": "Pat Example", "acknowledged_as": "guardian"}
    answers = [officer("POST", f"receipts/{id_}/acknowledge/", signed) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    kept = answers[1].json()
    assert (kept["acknowledged_name"], kept["acknowledged_as"], len(kept["seal"])) == ("Pat Example", "guardian", 64)
    assert kept["gear"] == receipt["gear"]
    again = officer("POST", f"receipts/{id_}/acknowledge/", signed | {"name": "Robin Example"})
    assert (again.status_code, again.json()["code"]) == (409, "acknowledged_already")


def test_who_signed_is_told_to_those_who_hand_gear_out_and_to_nobody_else(
    officer: Caller, coach: Caller, auditor: Caller, administrator: Caller, player: Player
) -> None:
    handed(officer, player)
    receipt = officer("POST", "receipts/", {"player": str(player.id)}).json()
    signed = {"name": "Pat Example", "acknowledged_as": "parent"}
    assert coach("POST", f"receipts/{receipt['id']}/acknowledge/", signed).status_code == 403
    officer("POST", f"receipts/{receipt['id']}/acknowledge/", signed)

    def named(who: Caller) -> str:
        [row] = who("GET", f"receipts/?acknowledged=true&player={player.id}").json()["results"]
        return str(row["acknowledged_name"])

    assert [named(who) for who in (officer, administrator, coach, auditor)] == ["Pat Example", "Pat Example", "", ""]


def test_an_officer_here_who_coaches_elsewhere_reads_no_name_there(
    officer: Caller, club: Club, team: Team, player: Player
) -> None:
    handed(officer, player)
    receipt = officer("POST", "receipts/", {"player": str(player.id)}).json()
    officer("POST", f"receipts/{receipt['id']}/acknowledge/", {"name": "Pat Example", "acknowledged_as": "parent"})
    user = person(Role.COACH, at=team)
    access.grant(user=user, role=Role.OFFICER, club=ClubFactory.create(organisation=club.organisation), team=None)
    told = Caller(token(user))("GET", f"receipts/{receipt['id']}/").json()
    assert (told["acknowledged_as"], told["acknowledged_name"]) == ("parent", "")


def test_gear_comes_back_without_its_parts_over_the_api(officer: Caller, player: Player, item: Item) -> None:
    assignment = put_on(item, player)
    address = f"assignments/{assignment.id}/return/"
    refused = officer("POST", address, {"missing_parts": ["wheel"]})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/missing_parts")
    answer = officer("POST", address, {"missing_parts": ["chin_strap"], "condition_at_return": "muddy"})
    assert answer.json()["missing_parts"] == ["chin_strap"]
    held = officer("GET", f"items/{item.id}/").json()
    assert (held["standing"], held["holds"][0]["reason"]) == ("stopped", "Came back without: chin strap.")
