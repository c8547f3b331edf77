"""Holding, releasing, retiring, losing and finding items over the API."""

from datetime import timedelta
from typing import Any

import pytest

from gearlife.domain.vocabulary import HoldEndsBy, Role
from gearlife.models import Hold
from gearlife.operations.holds import NewHold, hold
from tests.factories import (
    DAY,
    ItemFactory,
    TeamFactory,
    person,
    photo,
    put_on,
    stamp,
    token,
)
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.item_answers import read, serials
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


class TestHolding:
    def test_a_hold_stops_the_item_in_the_same_answer(self, club: Any, officer: Caller) -> None:
        item = ItemFactory.create(club=club)
        answer = officer("POST", f"items/{item.id}/hold/", {"reason": "shell: crack", "reference": "report 7"})

        row = answer.json()
        assert (answer.status_code, row["state"], row["in_force"], row["item_standing"]) == (
            201,
            "open",
            True,
            "stopped",
        )
        assert read(officer, item)["holds"][0]["reference"] == "report 7"

    def test_the_same_hold_again_is_the_one_there_is(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/hold/"
        first, again = (officer("POST", address, {"reason": "crack"}) for _ in range(2))

        assert (first.status_code, again.status_code, again.json()) == (201, 200, first.json())

    def test_a_coach_holds_gear_of_the_own_team_and_sees_no_other(self, club: Any) -> None:
        team, other = (TeamFactory.create(club=club) for _ in range(2))
        coach = Caller(token(person(Role.COACH, at=team)))
        own, foreign = (ItemFactory.create(club=club, team=each) for each in (team, other))

        assert coach("POST", f"items/{own.id}/hold/", {"reason": "crack"}).status_code == 201
        assert coach("POST", f"items/{foreign.id}/hold/", {"reason": "crack"}).status_code == 404
        assert serials(coach("GET", "items/")) == {own.serial}

    def test_an_incident_names_the_one_person_who_may_end_its_hold(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        named = person(Role.OFFICER, at=club)
        bare = officer("POST", f"{address}hold/", {"reason": "collision", "cause": "incident"})
        body = {"reason": "collision", "cause": "incident", "named_person": named.username, "told_whom": "coach"}
        held = officer("POST", f"{address}hold/", body).json()
        release = {"hold": held["id"], "reason": "looked into"}

        assert (bare.status_code, pointers(bare)) == (400, {"/named_person"})
        assert (held["ends_by"], held["named_person"]) == ("named_person", named.username)
        assert officer("POST", f"{address}release/", release).status_code == 403
        assert Caller(token(named))("POST", f"{address}release/", release).json()["state"] == "released"


class TestReleasing:
    def test_a_release_names_one_hold_and_leaves_the_others(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        first, second = (officer("POST", f"{address}hold/", {"reason": each}).json() for each in ("a", "b"))
        answer = officer("POST", f"{address}release/", {"hold": first["id"], "reason": "mended"})
        last = officer("POST", f"{address}release/", {"hold": second["id"], "reason": "mended"})

        assert (answer.status_code, answer.json()["state"]) == (200, "released")
        assert [each.json()["item_standing"] for each in (answer, last)] == ["stopped", "no_stop"]

    def test_a_release_again_changes_nothing(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        held = officer("POST", f"{address}hold/", {"reason": "a"}).json()
        first, again = (
            officer("POST", f"{address}release/", {"hold": held["id"], "reason": reason}) for reason in ("one", "two")
        )
        assert again.json() == first.json()

    def test_a_hold_of_another_item_is_no_hold_of_this_one(self, club: Any, officer: Caller) -> None:
        league = League()
        caller, other = league.callers["O"], ItemFactory.create(club=league.club)
        answer = caller("POST", f"items/{other.id}/release/", {"hold": str(league.hold.id), "reason": "x"})

        assert (answer.status_code, pointers(answer)) == (400, {"/hold"})
        assert Hold.objects.get(id=league.hold.id).released_at is None

    def test_not_a_crack_needs_a_photo_and_a_second_persons_own_call(self, club: Any, officer: Caller) -> None:
        item = ItemFactory.create(club=club)
        new = NewHold(item_id=item.id, reason="crack", ends_by=HoldEndsBy.CRACK_RULE)
        crack, _ = hold(new=new, stamp=stamp(club.organisation))
        address, second = f"items/{item.id}/release/", Caller(token(person(Role.OFFICER, at=club)))
        body = {"hold": str(crack.id), "reason": "a scratch", "basis": "not_a_crack"}
        bare = officer("POST", address, body)
        body["photo"] = str(photo(club).id)
        proposed, again, agreed = (caller("POST", address, body).json() for caller in (officer, officer, second))

        assert (bare.status_code, pointers(bare)) == (400, {"/photo"})
        assert [each["state"] for each in (proposed, again, agreed)] == ["proposed", "proposed", "released"]
        assert (proposed["item_standing"], agreed["item_standing"]) == ("stopped", "no_stop")

    def test_a_crack_is_never_released_as_dealt_with(self, club: Any, officer: Caller) -> None:
        item = ItemFactory.create(club=club)
        new = NewHold(item_id=item.id, reason="crack", ends_by=HoldEndsBy.CRACK_RULE)
        crack, _ = hold(new=new, stamp=stamp(club.organisation))
        answer = officer("POST", f"items/{item.id}/release/", {"hold": str(crack.id), "reason": "glued"})

        assert (answer.status_code, answer.json()["code"]) == (409, "crack_rule")

    def test_retired_is_no_ground_that_a_client_may_give(self, club: Any, officer: Caller) -> None:
        league = League()
        body = {"hold": str(league.hold.id), "reason": "x", "basis": "retired"}
        answer = league.callers["O"]("POST", f"items/{league.item.id}/release/", body)
        assert (answer.status_code, pointers(answer)) == (400, {"/basis"})


class TestOtherActs:
    def test_retired_is_for_good_and_ends_its_holds(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        officer("POST", f"{address}hold/", {"reason": "crack"})
        answer = officer("POST", f"{address}retire/", {"reason": "cracked"})
        again = officer("POST", f"{address}retire/", {"reason": "again"})

        row = answer.json()
        assert (answer.status_code, row["standing"], row["retired_on"], row["holds"]) == (200, "retired", str(DAY), [])
        assert again.json() == row

    def test_a_retirement_cannot_be_in_the_future(self, club: Any, officer: Caller) -> None:
        body = {"reason": "old", "on": str(DAY + timedelta(days=1))}
        answer = officer("POST", f"items/{ItemFactory.create(club=club).id}/retire/", body)
        assert (answer.status_code, pointers(answer)) == (400, {"/on"})

    def test_missing_and_found_move_it_and_a_found_one_wants_a_full_inspection(
        self, club: Any, officer: Caller
    ) -> None:
        item = ItemFactory.create(club=club)
        put_on(item)
        missing = officer("POST", f"items/{item.id}/mark-missing/").json()
        found = officer("POST", f"items/{item.id}/found/").json()

        assert (missing["whereabouts"], missing["held_by"]) == ("missing", None)
        assert (found["whereabouts"], found["issuable"]) == ("stock", False)
        assert {reason["code"] for reason in found["not_issuable_because"]} == {"not_inspected_since_back"}

    def test_what_was_never_missing_is_not_found(self, club: Any, officer: Caller) -> None:
        item = ItemFactory.create(club=club)
        put_on(item)
        answer = officer("POST", f"items/{item.id}/found/")
        assert (answer.status_code, answer.json()["code"]) == (409, "not_missing")

    def test_acts_need_no_if_match_and_answer_the_new_tag(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        before = officer("GET", address)["ETag"]
        answer = officer("POST", f"{address}mark-missing/")

        assert answer["ETag"] != before
        assert answer["ETag"] == officer("GET", address)["ETag"]
