"""Players over the API: who sees them, and what is taken."""

from typing import Any

import pytest

from fitting.models import Player
from gearlife.models import Club, Item, Team
from tests.factories import ClubFactory, PlayerFactory, TeamFactory
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db


def body(**facts: Any) -> dict[str, Any]:
    return {"given_name": "Ida", "family_name": "Reed"} | facts


def listed(by: Caller, query: str = "") -> set[str]:
    return {row["id"] for row in by("GET", f"players/{query}").json()["results"]}


def test_the_team_says_the_club(officer: Caller, team: Team) -> None:
    answer = officer("POST", "players/", body(team=str(team.id), jersey_number=12, birth_year=2010, position="guard"))
    row = answer.json()

    assert answer.status_code == 201
    assert (row["club"], row["team"]) == (str(team.club_id), str(team.id))
    assert (row["jersey_number"], row["birth_year"], row["position"]) == (12, 2010, "guard")


def test_a_player_without_team_names_the_club(officer: Caller, club: Club) -> None:
    assert officer("POST", "players/", body(club=str(club.id))).json()["team"] is None
    refused = officer("POST", "players/", body())

    assert refused.status_code == 400
    assert pointers(refused) == {"/club"}


def test_another_clubs_team_is_refused(officer: Caller, club: Club) -> None:
    theirs = TeamFactory.create(club=ClubFactory.create(organisation=club.organisation))
    refused = officer("POST", "players/", body(club=str(club.id), team=str(theirs.id)))

    assert (refused.status_code, pointers(refused)) == (400, {"/team"})


def test_a_change_writes_what_is_sent_and_nothing_else(officer: Caller, player: Player) -> None:
    tag = officer("GET", f"players/{player.id}/").headers["ETag"]
    row = officer("PATCH", f"players/{player.id}/", {"jersey_number": 7}, If_Match=tag).json()

    assert (row["jersey_number"], row["team"], row["birth_year"]) == (7, str(player.team_id), 2010)


def test_a_coach_sees_the_own_teams_players_and_writes_none(coach: Caller, player: Player) -> None:
    PlayerFactory.create(club=player.club)
    PlayerFactory.create(club=player.club, team=TeamFactory.create(club=player.club))

    assert listed(coach) == {str(player.id)}
    assert coach("POST", "players/", body(team=str(player.team_id))).status_code == 403


def test_an_auditor_sees_all_and_writes_none(auditor: Caller, player: Player) -> None:
    assert listed(auditor) == {str(player.id)}
    assert auditor("POST", "players/", body(club=str(player.club_id))).status_code == 403


def test_players_are_filtered_by_team_name_and_number(officer: Caller, player: Player) -> None:
    other = PlayerFactory.create(club=player.club, family_name="Marsh", jersey_number=4)

    assert listed(officer, f"?team={player.team_id}") == {str(player.id)}
    assert listed(officer, "?family_name=marsh&jersey_number=4") == {str(other.id)}
    assert officer("GET", "players/?jersey_number=100000").status_code == 400


def test_the_item_names_its_holder(officer: Caller, item: Item, player: Player) -> None:
    officer("POST", "assignments/", {"item": str(item.id), "player": str(player.id)})

    assert officer("GET", f"items/{item.id}/").json()["held_by"] == str(player.id)
