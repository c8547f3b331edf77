"""What is out, by player, and by team when the season is over."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.counted_gear import CountedKind
from fitting.models import Player
from fitting.operations.assignments import return_item
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.queries.gear_out import out_after_the_season, out_with
from gearlife.domain.access import Stamp
from gearlife.models import Club, Item, Team
from tests.factories import DAY, ItemFactory, PlayerFactory, later, put_on

pytestmark = pytest.mark.django_db
WINTER = date(2026, 12, 20)


def test_serial_and_counted_gear_are_out_until_they_come_back(player: Player, item: Item, now: Stamp) -> None:
    worn = put_on(item, player)
    new = [NewCounted(player, CountedKind.PANTS, 2), NewCounted(player, CountedKind.MOUTHGUARD)]
    pants, _ = hand_out_counted(new=new, stamp=now, places=["", ""])
    take_back_counted(new=[NewReturn(pants, 1)], stamp=now)
    [helmet, trousers] = out_with([player.id])[player.id]

    assert (helmet["serial"], helmet["count"], helmet["since"]) == (item.serial, 1, now.at)
    assert (trousers["kind"], trousers["count"]) == ("pants", 1)
    return_item(assignment=worn, at=None, condition="", stamp=later(now, days=1))
    take_back_counted(new=[NewReturn(pants)], stamp=later(now, days=1))
    assert not out_with([player.id])


def test_after_the_last_game_each_team_is_one_line_with_the_pieces_that_are_out(
    club: Club, team: Team, player: Player, item: Item, now: Stamp
) -> None:
    put_on(item, player)
    hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY, 3)], stamp=now)
    put_on(ItemFactory.create(club=club), PlayerFactory.create(club=club))
    players = Player.objects.filter(club=club)

    assert out_after_the_season(players, DAY) == []
    assert [(line.team, line.pieces) for line in out_after_the_season(players, WINTER)] == [(team.name, 4), (None, 1)]


def test_the_number_of_queries_does_not_grow_with_what_is_out(club: Club, team: Team, now: Stamp) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            out_after_the_season(Player.objects.filter(club=club), WINTER)
            out_with(Player.objects.filter(club=club).values_list("id", flat=True))
        return len(captured)

    def grow(count: int) -> None:
        for _ in range(count):
            other = PlayerFactory.create(club=club, team=team)
            put_on(ItemFactory.create(club=club), other)
            hand_out_counted(new=[NewCounted(other, CountedKind.JERSEY)], stamp=now)

    grow(1)
    few = asked()
    grow(6)
    assert asked() == few
