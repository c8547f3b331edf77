"""Makers, models, certifications and policy rules over the API."""

from typing import Any

import pytest

from gearlife.models import LedgerEvent
from tests.factories import ItemFactory
from tests.gearlife.api.base_probe import pointers
from tests.gearlife.api.league import League
from tests.gearlife.ledgers import typed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

RULE = {
    "code": "club_age_limit",
    "kind": "helmet",
    "anchor": "made",
    "counts": "months",
    "amount": 6,
    "effect": "stop",
    "source": "decided by the committee",
    "mark": "P",
    "reason": "the committee wishes it",
}


@pytest.fixture
def league() -> League:
    return League()


def item_of(league: League, item: Any) -> Any:
    return league.callers["O"]("GET", f"items/{item.id}/").json()


def falls(league: League, item: Any, code: str) -> Any:
    return next((clock["falls_on"] for clock in item_of(league, item)["clocks"] if clock["code"] == code), "none")


class TestMakersAndModels:
    def test_a_maker_is_one_however_its_name_is_written(self, league: League) -> None:
        made = league.callers["O"]("POST", "manufacturers/", {"name": "Fernhollow Works"})
        again = league.callers["O"]("POST", "manufacturers/", {"name": " fernhollow  WORKS "})
        found = league.callers["O"]("GET", "manufacturers/?name=FERNHOLLOW%20works").json()["results"]

        assert (made.status_code, again.status_code) == (201, 409)
        assert [row["id"] for row in found] == [made.json()["id"]]

    def test_a_maker_is_spelt_anew(self, league: League) -> None:
        address = f"manufacturers/{league.item.manufacturer_id}/"
        other = league.callers["O"]("POST", "manufacturers/", {"name": "Fernhollow"}).json()
        changed = league.callers["O"]("PATCH", address, {"name": "Oak Shell"}, If_Match="*")
        taken = league.callers["O"]("PATCH", address, {"name": other["name"]}, If_Match="*")

        assert (changed.json()["name"], taken.status_code) == ("Oak Shell", 409)

    def test_an_interval_that_becomes_known_moves_the_clocks_of_all_items(self, league: League) -> None:
        item = ItemFactory.create(club=league.club)
        before = falls(league, item, "certification")
        body = {"certification_interval_months": 36, "interval_stated_in": "booklet, page 4"}
        row = league.callers["O"]("PATCH", f"models/{item.model_id}/", body, If_Match="*").json()

        assert (before, falls(league, item, "certification")) == ("2028-03-01", "2029-03-01")
        assert (row["certification_interval_months"], row["interval_stated_in"]) == (36, "booklet, page 4")
        because = [clock["because"] for clock in item_of(league, item)["clocks"] if clock["code"] == "certification"]
        assert "The maker states 36 months (booklet, page 4)." in because[0]

    def test_a_model_is_added_with_its_sizes_and_found_by_kind(self, league: League) -> None:
        body = {
            "manufacturer": str(league.item.manufacturer_id),
            "name": "Carapace",
            "kind": "shoulder_pads",
            "sizes": ["M", "L"],
            "parts": ["arch"],
        }
        made = league.callers["O"]("POST", "models/", body)
        found = league.callers["O"]("GET", "models/?kind=shoulder_pads").json()["results"]

        assert (made.status_code, made.json()["liner"], made.json()["sizes"]) == (201, "other", ["M", "L"])
        assert found == [made.json()]

    def test_the_kind_of_a_model_never_changes(self, league: League) -> None:
        address = f"models/{league.item.model_id}/"
        answer = league.callers["O"]("PATCH", address, {"kind": "shoulder_pads"}, If_Match="*")
        assert (answer.status_code, pointers(answer)) == (400, {"/kind"})


class TestCertifications:
    def certify(self, league: League, **facts: Any) -> Any:
        body = {"item": str(league.item.id), "kind": "recertification", "firm": "Reed & Sons"} | facts
        return league.callers["O"]("POST", "certifications/", body)

    def test_a_recertification_moves_the_clock(self, league: League) -> None:
        answer = self.certify(league, certified_on="2026-09-01", evidence="label")

        assert (answer.status_code, answer.json()["counts_from"]) == (201, "2026-09-01")
        assert falls(league, league.item, "certification") == "2028-09-01"
        assert item_of(league, league.item)["certified_on"] == "2026-09-01"

    def test_reconditioned_is_not_recertified(self, league: League) -> None:
        answer = self.certify(league, kind="reconditioning", certified_on="2026-09-01")
        assert (answer.status_code, falls(league, league.item, "certification")) == (201, "2028-03-01")

    def test_a_label_year_of_unknown_meaning_counts_from_the_earlier_end(self, league: League) -> None:
        """trade.md, section 1: keep the year and its meaning; unknown counts as the earlier end (V, P)."""
        row = self.certify(league, label_year=2026, evidence="label").json()
        assert (row["label_year_means"], row["certified_on"], row["counts_from"]) == ("unknown", None, "2025-12-01")

    @pytest.mark.parametrize(
        ("facts", "pointer"),
        [
            ({}, "/certified_on"),
            ({"certified_on": "2026-10-15"}, "/certified_on"),
            ({"certified_on": "2025-01-01"}, "/certified_on"),
            ({"label_year": 2028}, "/label_year"),
            ({"certified_on": "2026-09-01", "kind": "blessed"}, "/kind"),
        ],
    )
    def test_a_certification_needs_a_day_that_is_possible(
        self, league: League, facts: dict[str, Any], pointer: str
    ) -> None:
        answer = self.certify(league, **facts)
        assert (answer.status_code, pointers(answer)) == (400, {pointer})

    def test_a_certification_is_never_changed(self, league: League) -> None:
        address = f"certifications/{league.rows['certifications'].pk}/"
        assert league.callers["A"]("PATCH", address, {"firm": "x"}, If_Match="*").status_code == 405
        assert league.callers["A"]("DELETE", address, If_Match="*").status_code == 405


class TestPolicy:
    def test_a_rule_that_is_added_applies_at_once_and_the_ledger_has_the_reason(self, league: League) -> None:
        answer = league.callers["A"]("POST", "policy-rules/", RULE)

        row = answer.json()
        assert (answer.status_code, row["in_force_from"], row["in_force_to"], row["comparator"]) == (
            201,
            None,
            None,
            ">=",
        )
        assert falls(league, league.item, "club_age_limit") == "2026-09-01"
        assert item_of(league, league.item)["standing"] == "stopped"
        event = LedgerEvent.objects.filter(organisation=league.organisation, action="rule_added").order_by("-seq")[0]
        assert typed(event)["reason"] == RULE["reason"]

    def test_a_rule_needs_a_reason_and_a_source(self, league: League) -> None:
        bare = {name: value for name, value in RULE.items() if name not in {"reason", "source"}}
        answer = league.callers["A"]("POST", "policy-rules/", bare)
        assert (answer.status_code, pointers(answer)) == (400, {"/reason", "/source"})

    def test_an_ended_rule_applies_up_to_and_with_its_day(self, league: League) -> None:
        row = league.callers["A"]("POST", "policy-rules/", RULE).json()
        address = f"policy-rules/{row['id']}/end/"
        ended = league.callers["A"]("POST", address, {"on": "2026-10-13", "reason": "a mistake"})
        again = league.callers["A"]("POST", address, {"on": "2026-10-13", "reason": "a mistake"})

        assert (ended.status_code, ended.json()["in_force_to"]) == (200, "2026-10-13")
        assert falls(league, league.item, "club_age_limit") == "none"
        assert (again.status_code, again.json()["code"]) == (409, "rule_ended")

    @pytest.mark.parametrize(
        ("facts", "pointer"),
        [
            ({"amount": None}, "/amount"),
            ({"amount": 0}, "/amount"),
            ({"in_season_only": True}, "/counts"),
            ({"in_force_from": "2027-01-01", "in_force_to": "2026-01-01"}, "/in_force_to"),
            ({"whereabouts": ["moon"]}, "/whereabouts/0"),
            ({"effect": "bless"}, "/effect"),
        ],
    )
    def test_a_rule_that_contradicts_itself_is_refused(
        self, league: League, facts: dict[str, Any], pointer: str
    ) -> None:
        answer = league.callers["A"]("POST", "policy-rules/", RULE | facts)
        assert (answer.status_code, pointers(answer)) == (400, {pointer})

    def test_a_rule_of_one_model_wins_over_the_general_one(self, league: League) -> None:
        rule = RULE | {"code": "age_limit", "model": str(league.item.model_id), "amount": 60}
        league.callers["A"]("POST", "policy-rules/", rule)
        other = ItemFactory.create(club=league.club)

        assert falls(league, league.item, "age_limit") == "2031-03-01"
        assert falls(league, other, "age_limit") == "2042-03-01"

    def test_a_rule_is_never_changed_in_place(self, league: League) -> None:
        address = f"policy-rules/{league.rows['policy-rules'].pk}/"
        assert league.callers["A"]("PATCH", address, {"amount": 1}, If_Match="*").status_code == 405
        assert league.callers["A"]("DELETE", address, If_Match="*").status_code == 405
