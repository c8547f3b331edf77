"""Assignments over the API: issued once, refused with every reason, recorded past the gate, returned."""

from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine

from fitting.models import Assignment, Player
from gearlife.domain.ids import uuid7
from gearlife.models import Club, Item
from tests.factories import AT, ClubFactory, ItemFactory, PlayerFactory, TeamFactory, fitted, pads, put_on
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db


def body(item: Item, player: Player, **more: Any) -> dict[str, Any]:
    return {"item": str(item.id), "player": str(player.id)} | more


def give(by: Caller, item: Item, player: Player, **more: Any) -> Any:
    return by("POST", "assignments/", body(item, player, **more))


def listed(by: Caller, query: str = "") -> set[str]:
    return {row["item"] for row in by("GET", f"assignments/{query}").json()["results"]}


def test_an_issue_answers_the_assignment_whole(officer: Caller, item: Item, player: Player) -> None:
    answer = give(officer, item, player, condition_at_issue="new", kind="helmet")
    row = answer.json()

    assert answer.status_code == 201
    assert (row["player"], row["item"], row["kind"], row["loan"]) == (str(player.id), str(item.id), "helmet", False)
    assert (row["recorded_as"], row["returned_at"], row["replaces"]) == ("issued", None, None)
    assert (row["condition_at_issue"], row["could_not_be_issued"], row["reasons_against"]) == ("new", False, [])


def test_a_kind_that_is_not_the_items_is_refused(officer: Caller, item: Item, player: Player) -> None:
    refused = give(officer, item, player, kind="shoulder_pads")

    assert (refused.status_code, pointers(refused)) == (400, {"/kind"})


def test_the_same_put_again_issues_nothing_more(officer: Caller, item: Item, player: Player) -> None:
    address = f"assignments/{uuid7()}/"
    answers = [officer("PUT", address, body(item, player)) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 200]
    assert Assignment.objects.count() == 1


def test_a_409_has_every_reason_with_its_code_and_place(officer: Caller, club: Club, player: Player) -> None:
    item = ItemFactory.create(club=club, made_on="")
    officer("POST", f"items/{item.id}/hold/", {"reason": "Loose rivet."})
    refused = give(officer, item, player)
    problem = refused.json()

    assert (refused.status_code, problem["code"]) == (409, "not_issuable")
    assert {error["code"] for error in problem["errors"]} == {"hold", "made_on_unknown"}
    assert pointers(refused) == {"/item"}


def test_a_refused_put_may_be_sent_again_when_the_reason_is_gone(officer: Caller, item: Item, player: Player) -> None:
    hold = officer("POST", f"items/{item.id}/hold/", {"reason": "Loose rivet."}).json()
    address = f"assignments/{uuid7()}/"
    assert officer("PUT", address, body(item, player)).status_code == 409
    officer("POST", f"items/{item.id}/release/", {"hold": hold["id"], "reason": "Tightened."})

    assert officer("PUT", address, body(item, player)).status_code == 201


def test_what_is_worn_already_is_recorded_with_the_reasons_against(officer: Caller, club: Club, player: Player) -> None:
    item = ItemFactory.create(club=club, made_on="")
    answer = give(officer, item, player, recorded_as="already_worn", issued_at="2026-10-01T09:00:00-05:00")
    row = answer.json()

    assert answer.status_code == 201
    assert (row["could_not_be_issued"], row["issued_at"]) == (True, "2026-10-01T14:00:00Z")
    assert [reason["code"] for reason in row["reasons_against"]] == ["made_on_unknown"]
    [alert] = officer("GET", "alerts/?severity=stop&kind=worn_not_issuable").json()["results"]
    assert (alert["item"], alert["player"], alert["advice"]) == (str(item.id), str(player.id), "replace")


def test_an_item_is_replaced_in_one_act(officer: Caller, club: Club, item: Item, player: Player) -> None:
    first = give(officer, item, player).json()
    second = give(officer, ItemFactory.create(club=club), player, replaces=first["id"])

    assert second.status_code == 201
    ended = officer("GET", f"assignments/{first['id']}/").json()
    assert ended["returned_at"] == second.json()["issued_at"]
    assert officer("GET", f"items/{item.id}/").json()["whereabouts"] == "stock"


def test_a_return_notes_the_condition_and_again_changes_nothing(officer: Caller, item: Item, player: Player) -> None:
    made = give(officer, item, player).json()
    address = f"assignments/{made['id']}/return/"
    first = officer("POST", address, {"condition_at_return": "scratched"})
    again = officer("POST", address, {"condition_at_return": "as new"})

    assert first.status_code == again.status_code == 200
    assert first.json() == again.json()
    assert first.json()["condition_at_return"] == "scratched"
    assert first.headers["ETag"] == again.headers["ETag"]


def test_moments_that_cannot_have_been_are_400_at_their_place(officer: Caller, item: Item, player: Player) -> None:
    ahead = (AT + timedelta(minutes=11)).isoformat()
    refused = give(officer, item, player, issued_at=ahead)
    assert (refused.status_code, pointers(refused)) == (400, {"/issued_at"})

    made = give(officer, item, player).json()
    for moment in (ahead, (AT - timedelta(minutes=1)).isoformat()):
        refused = officer("POST", f"assignments/{made['id']}/return/", {"returned_at": moment})
        assert (refused.status_code, pointers(refused)) == (400, {"/returned_at"})


def test_an_assignment_is_neither_changed_nor_removed(officer: Caller, item: Item, player: Player) -> None:
    made = give(officer, item, player)
    for method in ("PATCH", "DELETE"):
        answer = officer(method, f"assignments/{made.json()['id']}/", {"loan": True}, If_Match=made.headers["ETag"])
        assert answer.status_code == 405


def test_assignments_are_filtered(officer: Caller, club: Club, item: Item, player: Player) -> None:
    set_of_pads, other = pads(club), ItemFactory.create(club=club)
    give(officer, item, player)
    give(officer, set_of_pads, player)
    back = give(officer, other, PlayerFactory.create(club=club)).json()
    officer("POST", f"assignments/{back['id']}/return/", {})

    assert listed(officer, "?open=true&kind=helmet") == {str(item.id)}
    assert listed(officer, "?open=false") == {str(other.id)}
    assert listed(officer, f"?player={player.id}") == {str(item.id), str(set_of_pads.id)}
    assert listed(officer, f"?item={other.id}") == {str(other.id)}
    assert listed(officer, f"?team={player.team_id}&club={club.id}") == {str(item.id), str(set_of_pads.id)}


def test_a_coach_sees_the_own_team_and_issues_nothing(
    officer: Caller, coach: Caller, item: Item, player: Player
) -> None:
    give(officer, item, player)
    elsewhere = PlayerFactory.create(club=player.club, team=TeamFactory.create(club=player.club))
    other = ItemFactory.create(club=player.club)
    made = give(officer, other, elsewhere).json()

    assert listed(coach) == {str(item.id)}
    assert coach("GET", f"assignments/{made['id']}/").status_code == 404
    assert give(coach, ItemFactory.create(club=player.club), player).status_code == 403


def test_a_foreign_item_reads_like_none_at_all(officer: Caller, player: Player) -> None:
    foreign = ItemFactory.create(club=ClubFactory.create())
    answers = [
        give(officer, foreign, player),
        officer("POST", "assignments/", body(foreign, player) | {"item": str(uuid7())}),
    ]

    assert [answer.status_code for answer in answers] == [400, 400]
    assert answers[0].json() == answers[1].json()


def test_many_are_issued_entry_by_entry(officer: Caller, club: Club, item: Item, player: Player) -> None:
    stopped = ItemFactory.create(club=club, made_on="")
    entries = [body(stopped, PlayerFactory.create(club=club)), body(item, player)]
    results = officer("POST", "assignments/bulk/", {"entries": entries}).json()["results"]

    assert [result["status"] for result in results] == [409, 201]
    assert results[0]["problem"]["errors"][0]["pointer"] == "/entries/0/item"


# Replacements


def test_replacements_are_offered_for_a_stopped_item(officer: Caller, item: Item, player: Player) -> None:
    give(officer, item, player)
    officer("POST", f"items/{item.id}/hold/", {"reason": "Shell crack?"})
    spare = ItemFactory.create(club=item.club, model=item.model)
    [row] = officer("GET", f"items/{item.id}/replacements/").json()["results"]

    assert (row["item"], row["serial"], row["try_on"]) == (str(spare.id), spare.serial, False)
    assert row["why"].endswith("It is fitted on the head before it is worn.")


def test_replacements_of_an_item_out_of_sight_are_404(officer: Caller, club: Club) -> None:
    others = ItemFactory.create(club=ClubFactory.create(organisation=club.organisation))

    assert officer("GET", f"items/{others.id}/replacements/").status_code == 404
    assert officer("GET", "items/none/replacements/").status_code == 404


def test_a_coach_is_offered_what_the_own_team_has_in_the_room(coach: Caller, club: Club, player: Player) -> None:
    worn = ItemFactory.create(club=club, team=player.team)
    own = ItemFactory.create(club=club, model=worn.model, team=player.team)
    ItemFactory.create(club=club, model=worn.model)

    rows = coach("GET", f"items/{worn.id}/replacements/").json()["results"]
    assert [row["item"] for row in rows] == [str(own.id)]


def test_a_parameter_that_nobody_reads_is_refused(officer: Caller, item: Item) -> None:
    assert officer("GET", f"items/{item.id}/replacements/?size=M").status_code == 400


def test_a_loan_says_from_which_noon_it_is_asked_for_and_whether_it_is(
    officer: Caller, item: Item, player: Player
) -> None:
    lent = give(officer, item, player, loan=True).json()["id"]
    noon = AT + timedelta(hours=25)
    told = []
    for moment in (noon - timedelta(seconds=1), noon):
        with time_machine.travel(moment, tick=False):
            [row] = officer("GET", "assignments/?loan=true&open=true").json()["results"]
        told.append((datetime.fromisoformat(row["overdue_at"]), row["overdue"]))

    assert told == [(noon, False), (noon, True)]
    assert listed(officer, "?loan=false") == set()
    officer("POST", f"assignments/{lent}/return/", {})
    [back] = officer("GET", "assignments/?loan=true").json()["results"]
    assert (back["overdue_at"], back["overdue"]) == (None, False)


def test_how_the_model_was_set_is_told_with_replacements_to_officers_alone(
    officer: Caller, auditor: Caller, club: Club, item: Item, player: Player
) -> None:
    put_on(item, player)
    fitted(item, player, pads_and_air="thick front")
    ItemFactory.create(club=club, model=item.model)
    told = [by("GET", f"items/{item.id}/replacements/").json()["results"][0] for by in (officer, auditor)]

    assert [row["was_set_with"] for row in told] == ["thick front", None]
