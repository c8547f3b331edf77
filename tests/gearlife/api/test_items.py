"""What the API says of items and does to them."""

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from gearlife.domain.vocabulary import HoldEndsBy, Role
from gearlife.models import Hold, Item, Membership
from gearlife.operations.holds import NewHold, hold
from gearlife.queries import history
from tests.factories import (
    DAY,
    ClubFactory,
    ItemFactory,
    ModelFactory,
    PlayerFactory,
    TeamFactory,
    add_rule,
    pads,
    person,
    photo,
    put_on,
    stamp,
    token,
)
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def club() -> Any:
    return ClubFactory.create()


@pytest.fixture
def officer(club: Any) -> Caller:
    return Caller(token(person(Role.OFFICER, at=club)))


def read(caller: Caller, item: Item) -> Any:
    return caller("GET", f"items/{item.id}/").json()


def serials(answer: Any) -> set[str]:
    return {row["serial"] for row in answer.json()["results"]}


class TestWhatIsSaid:
    def test_a_sound_record_says_no_more_than_that_no_reason_to_stop_is_recorded(
        self, club: Any, officer: Caller
    ) -> None:
        row = read(officer, ItemFactory.create(club=club))

        assert (row["standing"], row["issuable"], row["not_issuable_because"]) == ("no_stop", True, [])
        assert [warning["code"] for warning in row["warnings"]] == ["look_before_issue"]

    def test_a_list_shows_an_item_as_its_detail_does(self, club: Any, officer: Caller) -> None:
        item = ItemFactory.create(club=club, team=TeamFactory.create(club=club))
        hold(new=NewHold(item_id=item.id, reason="shell: crack"), stamp=stamp(club.organisation))

        assert officer("GET", "items/").json()["results"] == [read(officer, item)]

    def test_each_limit_is_told_with_its_rule_the_earliest_fall_first(self, club: Any, officer: Caller) -> None:
        clocks = read(officer, ItemFactory.create(club=club, made_on="2025-03"))["clocks"]
        certification = next(clock for clock in clocks if clock["code"] == "certification")

        assert [clock["falls_on"] for clock in clocks] == sorted(clock["falls_on"] for clock in clocks)
        assert certification | {"rule": None, "source": "", "because": ""} == {
            "code": "certification",
            "limit": "24 months from the last certification",
            "used": "1 year 7 months 13 days",
            "remaining": "4 months 15 days",
            "remaining_days": 138,
            "falls_on": "2027-03-01",
            "effect": "stop",
            "anchor_on": "2025-03-01",
            "rule": None,
            "source": "",
            "mark": "V",
            "because": "",
        }
        assert "The maker states 24 months." in certification["because"]
        assert "No recertification is recorded" in certification["because"]
        assert "manufacturer states the interval" in certification["source"]

    def test_an_interval_that_the_maker_does_not_state_is_twelve_months_and_says_so(
        self, club: Any, officer: Caller
    ) -> None:
        model = ModelFactory.create(manufacturer__organisation=club.organisation, certification_interval_months=None)
        clocks = read(officer, ItemFactory.create(club=club, model=model))["clocks"]
        because = next(clock["because"] for clock in clocks if clock["code"] == "certification")

        assert "The maker's interval is not recorded for this model, so 12 months are counted." in because

    def test_an_unknown_date_is_null_and_stops_a_helmet(self, club: Any, officer: Caller) -> None:
        row = read(officer, ItemFactory.create(club=club, made_on=""))
        unknown = next(clock for clock in row["clocks"] if clock["code"] == "made_on")

        assert (row["made_on"], row["standing"], row["issuable"]) == (None, "stopped", False)
        assert (unknown["falls_on"], unknown["anchor_on"], unknown["remaining_days"]) == (None, None, None)
        assert (unknown["limit"], unknown["rule"]) == ("The date of manufacture must be known", None)
        assert [reason["falls_on"] for reason in row["not_issuable_because"]] == [None]

    def test_pads_without_a_date_are_stopped_only_where_an_age_limit_is_set(self, club: Any, officer: Caller) -> None:
        item = pads(club)
        before = read(officer, item)["standing"]
        add_rule(club.organisation, kind="shoulder_pads")

        assert (before, read(officer, item)["standing"]) == ("no_stop", "stopped")

    def test_an_item_without_a_serial_shows_null_and_its_tag(self, club: Any, officer: Caller) -> None:
        row = read(officer, ItemFactory.create(club=club, serial=""))
        assert (row["serial"], bool(row["tag"])) == (None, True)

    def test_whoever_wears_it_is_named_by_id_alone(self, club: Any, officer: Caller) -> None:
        item, player = ItemFactory.create(club=club), PlayerFactory.create(club=club)
        put_on(item, player)
        row = read(officer, item)

        assert (row["held_by"], row["whereabouts"], row["issuable"]) == (str(player.id), "player", False)
        assert player.family_name not in officer("GET", f"items/{item.id}/").content.decode()

    def test_a_hold_of_a_later_day_is_shown_and_not_in_force(self, club: Any, officer: Caller) -> None:
        item, later = ItemFactory.create(club=club), DAY + timedelta(days=3)
        hold(new=NewHold(item_id=item.id, reason="strap", starts_on=later), stamp=stamp(club.organisation))
        row = read(officer, item)

        assert [(held["starts_on"], held["in_force"]) for held in row["holds"]] == [(str(later), False)]
        assert (row["standing"], row["issuable"]) == ("no_stop", False)


class TestFilters:
    @pytest.fixture
    def shelf(self, club: Any) -> dict[str, Item]:
        team = TeamFactory.create(club=club)
        shelf = {
            "good": ItemFactory.create(club=club, serial="AB 1", size="L", team=team, made_on="2026"),
            "held": ItemFactory.create(club=club, serial="AB 2", made_on="2025-06"),
            "worn": ItemFactory.create(club=club, serial="AB 3", made_on="2025-12-31"),
            "undated": ItemFactory.create(club=club, serial="AB 4", made_on=""),
            "pads": pads(club, serial="P 1", tag="T1"),
        }
        hold(new=NewHold(item_id=shelf["held"].id, reason="crack"), stamp=stamp(club.organisation))
        put_on(shelf["worn"])
        return shelf

    @pytest.mark.parametrize(
        ("asked", "found"),
        [
            ("serial=ab%20%201", {"AB 1"}),
            ("serial=AB", set()),
            ("tag=t1", {"P 1"}),
            ("kind=shoulder_pads", {"P 1"}),
            ("size=l", {"AB 1"}),
            ("whereabouts=player", {"AB 3"}),
            ("standing=stopped", {"AB 2", "AB 4"}),
            ("standing=no_stop&kind=helmet", {"AB 1", "AB 3"}),
            ("issuable=true", {"AB 1", "P 1"}),
            ("issuable=false", {"AB 2", "AB 3", "AB 4"}),
            ("made_from=2026", {"AB 1"}),
            ("made_from=2025-06&made_to=2025", {"AB 2", "AB 3"}),
            ("made_to=2025-06-01", {"AB 2"}),
            ("retired=true", set()),
            ("retired=false&kind=shoulder_pads", {"P 1"}),
        ],
    )
    def test_a_filter_finds_what_it_names(
        self, shelf: dict[str, Item], officer: Caller, asked: str, found: set[str]
    ) -> None:
        assert serials(officer("GET", f"items/?{asked}")) == found

    def test_a_team_and_a_model_find_their_items(self, shelf: dict[str, Item], officer: Caller) -> None:
        good = shelf["good"]
        for asked in (f"team={good.team_id}", f"model={good.model_id}", f"manufacturer={good.manufacturer_id}"):
            assert serials(officer("GET", f"items/?{asked}")) == {"AB 1"}

    def test_the_gate_is_not_asked_about_more_items_than_it_can_weigh(
        self, shelf: dict[str, Item], officer: Caller, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("gearlife.api.item_bodies.MOST_WEIGHED", 1)
        answer = officer("GET", "items/?issuable=true")

        assert (answer.status_code, pointers(answer)) == (400, {"?issuable"})
        assert serials(officer("GET", "items/?issuable=true&kind=shoulder_pads")) == {"P 1"}

    def test_a_broken_date_is_a_fault_of_its_parameter(self, officer: Caller) -> None:
        answer = officer("GET", "items/?made_from=03/2021")
        assert (answer.status_code, pointers(answer)) == (400, {"?made_from"})

    def test_a_concern_that_fails_makes_nothing_issuable(
        self, shelf: dict[str, Item], officer: Caller, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(*_: object) -> None:
            raise RuntimeError("nobody foresaw this")

        monkeypatch.setattr("gearlife.queries.concerns.facts.RetiredConcern.hits", fails)

        assert serials(officer("GET", "items/?issuable=true")) == set()
        row = read(officer, shelf["good"])
        assert (row["issuable"], row["not_issuable_because"][0]["code"]) == (False, "retired")


class TestRegistering:
    def body(self, club: Any, **facts: Any) -> dict[str, Any]:
        model = ModelFactory.create(manufacturer__organisation=club.organisation)
        usual = {"club": str(club.id), "model": str(model.id), "serial": "SN 77", "size": "m", "made_on": "2025-03"}
        return usual | {"made_on_evidence": "label", "kind": "helmet"} | facts

    def test_a_registered_item_is_answered_whole(self, club: Any, officer: Caller) -> None:
        answer = officer("POST", "items/", self.body(club, add_ons=["visor"]))

        assert (answer.status_code, answer.json()["size"], answer.json()["add_ons"]) == (201, "M", ["visor"])
        assert answer.json() == read(officer, Item.objects.get(id=answer.json()["id"]))

    def test_a_serial_that_is_registered_is_refused_at_its_place(self, club: Any, officer: Caller) -> None:
        body = self.body(club)
        officer("POST", "items/", body)
        answer = officer("POST", "items/", body | {"serial": " sn  77 "})

        assert (answer.status_code, answer.json()["code"], pointers(answer)) == (409, "serial_taken", {"/serial"})

    @pytest.mark.parametrize(
        ("facts", "pointer"),
        [
            ({"kind": "shoulder_pads"}, "/kind"),
            ({"made_on": "2027"}, "/made_on"),
            ({"acquired_on": "2024-01-01"}, "/made_on"),
            ({"made_on": "6/19"}, "/made_on"),
            ({"standing": "no_stop"}, "/standing"),
            ({"whereabouts": "stock"}, "/whereabouts"),
        ],
    )
    def test_what_contradicts_itself_or_is_not_the_clients_to_say_is_refused(
        self, club: Any, officer: Caller, facts: dict[str, Any], pointer: str
    ) -> None:
        answer = officer("POST", "items/", self.body(club, **facts))
        assert (answer.status_code, pointers(answer)) == (400, {pointer})

    def test_a_team_of_another_club_is_refused(self, club: Any, officer: Caller) -> None:
        administrator = Caller(token(person(Role.ADMINISTRATOR, at=club.organisation)))
        other = TeamFactory.create(club=ClubFactory.create(organisation=club.organisation))
        answer = administrator("POST", "items/", self.body(club, team=str(other.id)))

        assert (answer.status_code, pointers(answer)) == (400, {"/team"})

    def test_bulk_answers_entry_by_entry_and_a_bad_one_spoils_no_other(self, club: Any, officer: Caller) -> None:
        entries = [self.body(club, serial="1"), self.body(club, made_on="2027"), self.body(club, serial="3")]
        results = officer("POST", "items/bulk/", {"entries": entries}).json()["results"]

        assert [result["status"] for result in results] == [201, 400, 201]
        assert results[1]["problem"]["errors"][0]["pointer"] == "/entries/1/made_on"
        assert [result["body"]["serial"] for result in results if "body" in result] == ["1", "3"]


class TestChanging:
    def test_evidence_of_the_date_ends_the_stop_and_nothing_else_does(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club, made_on='').id}/"
        bare = officer("PATCH", address, {"made_on": "2025-03"}, If_Match="*")
        shown = officer("PATCH", address, {"made_on": "2025-03", "made_on_evidence": "makers_letter"}, If_Match="*")

        assert (bare.status_code, pointers(bare)) == (400, {"/made_on_evidence"})
        assert (shown.json()["made_on"], shown.json()["standing"]) == ("2025-03", "no_stop")

    def test_a_hold_changes_the_tag_so_that_a_stale_change_is_refused(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        before = officer("GET", address)["ETag"]
        officer("POST", f"{address}hold/", {"reason": "crack"})

        assert officer("PATCH", address, {"colour": "red"}, If_Match=before).status_code == 412
        assert officer("PATCH", address, {"colour": "red"}).status_code == 428

    def test_an_item_keeps_one_name_at_least(self, club: Any, officer: Caller) -> None:
        answer = officer("PATCH", f"items/{ItemFactory.create(club=club).id}/", {"serial": ""}, If_Match="*")
        assert (answer.status_code, pointers(answer)) == (400, {"/serial"})

    def test_another_model_of_the_kind_is_taken_with_its_maker_and_its_interval(
        self, club: Any, officer: Caller
    ) -> None:
        item = ItemFactory.create(club=club)
        yearly = ModelFactory.create(manufacturer__organisation=club.organisation, certification_interval_months=12)
        row = officer("PATCH", f"items/{item.id}/", {"model": str(yearly.id)}, If_Match="*").json()
        falls = {clock["code"]: clock["falls_on"] for clock in row["clocks"]}

        assert (row["manufacturer"], falls["certification"]) == (str(yearly.manufacturer_id), "2027-03-01")

    def test_a_model_of_another_kind_is_refused(self, club: Any, officer: Caller) -> None:
        address = f"items/{ItemFactory.create(club=club).id}/"
        answer = officer("PATCH", address, {"model": str(pads(club).model_id)}, If_Match="*")
        assert (answer.status_code, pointers(answer)) == (400, {"/model"})


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


class TestHistory:
    def test_the_history_tells_in_words_who_did_what_oldest_first(self, club: Any) -> None:
        user = person(Role.OFFICER, at=club)
        officer, item = Caller(token(user)), ItemFactory.create(club=club, serial="HX 9")
        address = f"items/{item.id}/"
        held = officer("POST", f"{address}hold/", {"reason": "shell: crack"}).json()
        officer("PATCH", address, {"colour": "red"}, If_Match="*")
        officer("POST", f"{address}release/", {"hold": held["id"], "reason": "Looked again."})
        certified = {
            "item": str(item.id),
            "kind": "recertification",
            "certified_on": "2026-10-01",
            "firm": "Reed & Sons",
        }
        officer("POST", "certifications/", certified)
        officer("POST", f"{address}retire/", {"reason": "worn out"})
        events = officer("GET", f"{address}history/").json()["results"]

        assert [(event["action"], event["actor"]) for event in events] == [
            ("registered", None),
            *((action, user.username) for action in ("held", "changed", "released", "certified", "retired")),
        ]
        assert [event["words"] for event in events] == [
            "Registered: helmet, serial HX 9, size M, made 2026-03.",
            "Held from 2026-10-14: shell: crack",
            "Colour changed from nothing to red.",
            "Hold of 2026-10-14 ended (dealt with): Looked again. It was: shell: crack",
            "Recertification on 2026-10-01 by Reed & Sons recorded; it counts from 2026-10-01.",
            "Retired on 2026-10-14: worn out",
        ]
        assert [event["seq"] for event in events] == sorted(event["seq"] for event in events)

    def test_every_action_that_the_code_records_of_an_item_has_words(self) -> None:
        sources = [path.read_text() for path in Path(settings.BASE_DIR).glob("*/operations/**/*.py")]
        recorded = {word for source in sources for word in re.findall(r'Entry\(\s*"(\w+)",(?! facts)', source)}

        assert {"held", "issued", "inspected"} <= recorded
        assert {action for action in recorded if action not in history._words} == set()

    def test_an_action_without_words_is_told_with_its_facts(self) -> None:
        facts = {"strokes": 3, "cell": "crown", "item": "01a13b24-5800-713b-8a72-db84c7fb1fae", "none": None}
        assert history.in_words("air_added", facts) == "Air added: strokes 3; cell crown."

    def test_who_has_left_is_still_named(self, club: Any, officer: Caller) -> None:
        user = person(Role.OFFICER, at=club)
        item = ItemFactory.create(club=club)
        Caller(token(user))("POST", f"items/{item.id}/hold/", {"reason": "crack"})
        Membership.objects.filter(user=user).delete()

        assert officer("GET", f"items/{item.id}/history/").json()["results"][-1]["actor"] == user.username
