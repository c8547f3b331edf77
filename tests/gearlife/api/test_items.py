"""What the API says of items; registering and changing them."""

from datetime import timedelta
from typing import Any

import pytest

from gearlife.domain.vocabulary import Role
from gearlife.models import Item
from gearlife.operations.holds import NewHold, hold
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
    put_on,
    stamp,
    token,
)
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.item_answers import read

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


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
