"""Who lacks gear that protects: by the records of the moment, in a fixed number of queries."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.counted_gear import CountedKind
from fitting.models import CountedGear, Player
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.queries.protection import lacks_of, teams_lacking
from gearlife.domain.access import Stamp
from gearlife.models import Club, Season, Team
from tests.factories import (
    DAY,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    SeasonFactory,
    TeamFactory,
    later,
    pads,
    put_on,
)

pytestmark = pytest.mark.django_db


def hand(player: Player, kind: CountedKind, now: Stamp, **more: Any) -> CountedGear:
    return hand_out_counted(new=[NewCounted(player, kind, **more)], stamp=now)[0]


def dress(player: Player) -> Player:
    put_on(ItemFactory.create(club=player.club), player)
    put_on(pads(player.club), player)
    return player


def lacks(*players: Player, day: date = DAY) -> list[list[str]]:
    found = lacks_of(Player.objects.filter(id__in=[player.id for player in players]), day)
    return [found.get(player.id, []) for player in players]


def test_in_season_helmet_and_pads_are_asked_for_until_they_are_handed_out(player: Player) -> None:
    assert lacks(player) == [["helmet", "shoulder_pads"]]
    assert lacks(dress(player)) == [[]]


def test_out_of_season_and_long_before_the_first_contact_nothing_is(player: Player) -> None:
    Season.objects.filter(club=player.club).update(first_contact_on=date(2026, 9, 1))
    days = [date(2026, 8, 17), date(2026, 8, 18), date(2026, 12, 5), date(2026, 12, 6)]
    assert [bool(lacks(player, day=day)[0]) for day in days] == [False, True, True, False]


def test_a_counted_piece_is_asked_for_where_the_club_has_handed_out_one_of_its_kind(
    player: Player, team: Team, now: Stamp
) -> None:
    dress(player)
    other = dress(PlayerFactory.create(club=team.club, team=team))
    elsewhere = dress(PlayerFactory.create(club=ClubFactory.create(organisation=team.club.organisation)))
    hand(other, CountedKind.JERSEY, now)
    assert lacks(player, other, elsewhere) == [[], [], []]
    hand(other, CountedKind.MOUTHGUARD, now)
    assert lacks(player, other, elsewhere) == [["mouthguard"], [], []]


def test_what_was_given_back_is_lacking_again_and_a_mouthguard_is_of_its_season(player: Player, now: Stamp) -> None:
    dress(player)
    girdle = hand(player, CountedKind.GIRDLE, now)
    take_back_counted(new=[NewReturn(girdle)], stamp=now)
    guard = hand(player, CountedKind.MOUTHGUARD, now)
    assert lacks(player) == [["girdle"]]
    other = PlayerFactory.create(club=player.club, team=player.team)
    hand(other, CountedKind.MOUTHGUARD, now)
    CountedGear.objects.filter(id=guard.id).update(handed_out_at=later(now, days=-400).at)
    assert lacks(player) == [["girdle", "mouthguard"]]


def test_a_team_is_one_line_with_its_numbers(club: Club, team: Team) -> None:
    for _ in range(3):
        put_on(ItemFactory.create(club=club), PlayerFactory.create(club=club, team=team))
    PlayerFactory.create(club=club, team=team)
    PlayerFactory.create(club=club)
    [line] = teams_lacking(Player.objects.filter(club=club), DAY)

    assert (line.team, line.pieces) == (team.name, [("helmet", 1), ("shoulder_pads", 4)])
    assert line.contact_on == date(2026, 8, 15)


def test_the_number_of_queries_does_not_grow_with_players_teams_and_clubs(club: Club, team: Team, now: Stamp) -> None:
    organisation = club.organisation

    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            teams_lacking(Player.objects.filter(organisation=organisation), DAY)
            lacks_of(Player.objects.filter(organisation=organisation), DAY)
        return len(captured)

    hand(PlayerFactory.create(club=club, team=team), CountedKind.GIRDLE, now)
    few = asked()
    for number in range(4):
        more = ClubFactory.create(organisation=organisation, in_season=False)
        SeasonFactory.create(club=more, starts_on=date(2026, 7, 1) + timedelta(days=number))
        there = TeamFactory.create(club=more)
        for _ in range(3):
            hand(dress(PlayerFactory.create(club=more, team=there)), CountedKind.GIRDLE, now)
    assert (few, asked()) == (6, 6)
