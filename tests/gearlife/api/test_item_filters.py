"""What the list of items finds by its filters."""

from typing import Any

import pytest

from gearlife.models import Club, Item
from gearlife.operations import policy_changes
from gearlife.operations.holds import NewHold, hold
from tests.factories import (
    ItemFactory,
    TeamFactory,
    add_rule,
    pads,
    put_on,
    stamp,
)
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.item_answers import read, serials

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


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

    @pytest.mark.usefixtures("shelf")
    def test_the_standing_asked_for_is_that_of_rules_which_the_stored_clocks_do_not_know_yet(
        self, club: Club, officer: Caller, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert serials(officer("GET", "items/?whereabouts=player&standing=stopped")) == set()
        monkeypatch.setattr(policy_changes, "AT_ONCE", 0)
        add_rule(club.organisation, counts="days", amount=1)

        assert serials(officer("GET", "items/?whereabouts=player&standing=stopped")) == {"AB 3"}
        assert serials(officer("GET", "items/?standing=no_stop")) == set()
        monkeypatch.setattr("gearlife.api.item_bodies.MOST_WEIGHED", 1)
        assert pointers(officer("GET", "items/?standing=stopped")) == {"?standing"}

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
