"""`players/?lacks=`: who lacks gear that protects, as far as the asker sees."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.counted_gear import PIECES, CountedKind, Lacks
from fitting.models import Player
from fitting.operations.counted_gear import NewCounted, hand_out_counted
from fitting.operations.removing import remove_person
from gearlife.domain.access import Stamp
from gearlife.models import Club, Item, Season, Team
from tests.factories import SEASON_BEGINS, PlayerFactory, pads, put_on
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db


def lacking(who: Caller, piece: str, more: str = "") -> set[str]:
    answer = who("GET", f"players/?lacks={piece}{more}")
    assert answer.status_code == 200, answer.content
    return {row["id"] for row in answer.json()["results"]}


def test_players_are_asked_for_by_what_they_lack(
    officer: Caller, club: Club, team: Team, player: Player, item: Item, now: Stamp
) -> None:
    bare, guarded = str(player.id), PlayerFactory.create(club=club, team=team)
    put_on(item, guarded)
    put_on(pads(club), guarded)
    assert lacking(officer, "helmet") == lacking(officer, "anything", f"&team={team.id}") == {bare}
    assert lacking(officer, "mouthguard") == set()
    hand_out_counted(new=[NewCounted(player, CountedKind.MOUTHGUARD)], stamp=now)
    assert lacking(officer, "mouthguard") == {str(guarded.id)}
    assert lacking(officer, "anything") == {bare, str(guarded.id)}


def test_a_coach_is_told_of_the_own_team_and_out_of_season_nobody_is_named(
    officer: Caller, coach: Caller, club: Club, player: Player
) -> None:
    PlayerFactory.create(club=club)
    assert (len(lacking(officer, "helmet")), lacking(coach, "helmet")) == (2, {str(player.id)})
    Season.objects.filter(club=club).update(ends_on=SEASON_BEGINS)
    assert lacking(officer, "helmet") == set()


def test_a_person_who_was_removed_lacks_nothing(officer: Caller, club: Club, player: Player, now: Stamp) -> None:
    gone = PlayerFactory.create(club=club)
    remove_person(player=gone, stamp=now)
    assert lacking(officer, "helmet") == {str(player.id)}


def test_what_is_no_piece_is_a_400(officer: Caller) -> None:
    assert officer("GET", "players/?lacks=jersey").status_code == 400
    assert {piece.value for piece in Lacks} == {"anything", *PIECES}


def test_the_question_does_not_grow_with_the_players(officer: Caller, club: Club, player: Player) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            lacking(officer, "anything")
        return len(captured)

    asked()
    few = asked()
    for _ in range(8):
        PlayerFactory.create(club=club)
    assert asked() == few
