"""Players and their measurements: plain columns, and nothing personal in the ledger."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Player
from fitting.operations.assignments import NewAssignment, issue
from fitting.operations.players import (
    NewPlayer,
    add_player,
    add_players,
    change_player,
    change_players,
)
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Club, Item, LedgerEvent, Team
from tests.factories import ClubFactory, ItemFactory, PlayerFactory, TeamFactory, put_on

pytestmark = pytest.mark.django_db


def test_a_player_is_found_by_the_normal_form_of_both_names(club: Club, now: Stamp) -> None:
    player = add_player(new=NewPlayer(club, "  maija ", "Öst-Berg"), stamp=now)

    assert player.name_key == "MAIJA ÖST-BERG"


def test_a_player_is_of_a_team_of_the_same_club(club: Club, now: Stamp) -> None:
    elsewhere = TeamFactory.create(club=ClubFactory.create(organisation=club.organisation))

    with pytest.raises(InvalidInputError) as refused:
        add_player(new=NewPlayer(club, "Ida", "Reed", team=elsewhere), stamp=now)
    assert refused.value.faults[0].pointer == "/team"


def test_of_many_players_all_are_added_or_none(club: Club, now: Stamp) -> None:
    elsewhere = TeamFactory.create(club=ClubFactory.create(organisation=club.organisation))
    good, bad = NewPlayer(club, "Ida", "Reed"), NewPlayer(club, "Ada", "Rush", team=elsewhere)

    with pytest.raises(InvalidInputError):
        add_players(new=[good, bad], stamp=now)
    assert not Player.objects.exists()
    assert len(add_players(new=[good, good], stamp=now)) == 2


def test_a_change_raises_the_version_and_renews_the_key(player: Player, now: Stamp) -> None:
    changed = change_player(player=player, changes={"family_name": "Marsh", "jersey_number": 12}, stamp=now)

    assert (changed.version, changed.jersey_number) == (2, 12)
    assert changed.name_key.endswith("MARSH")


def test_a_change_to_another_clubs_team_is_refused(player: Player, now: Stamp) -> None:
    with pytest.raises(InvalidInputError):
        change_player(player=player, changes={"team": TeamFactory.create()}, stamp=now)


def test_what_a_player_has_out_moves_to_the_players_new_team(
    club: Club, player: Player, item: Item, now: Stamp
) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    team = TeamFactory.create(club=club)
    change_player(player=player, changes={"team": team}, stamp=now)
    item.refresh_from_db()

    assert item.team_id == team.id
    assert LedgerEvent.objects.filter(item_id=item.id).order_by("-seq").values_list("action", flat=True)[0] == "changed"


def test_many_players_change_team_with_every_item_read_before_the_ledgers_head(club: Club, now: Stamp) -> None:
    worn = [put_on(ItemFactory.create(club=club), PlayerFactory.create(club=club)) for _ in range(2)]
    team = TeamFactory.create(club=club)
    with CaptureQueriesContext(connection) as asked:
        change_players(changed=[(each.player, {"team": team}) for each in worn], stamp=now)
    tables = [query["sql"] for query in asked]
    head = next(place for place, sql in enumerate(tables) if "gearlife_ledgerhead" in sql)

    assert set(Item.objects.values_list("team_id", flat=True)) == {team.id}
    assert not [sql for sql in tables[head:] if "gearlife_item" in sql]


def test_no_name_of_a_player_reaches_the_ledger(club: Club, team: Team, item: Item, now: Stamp) -> None:
    player = add_player(new=NewPlayer(club, "Quillon", "Zephyrmarsh", team=team, jersey_number=88), stamp=now)
    change_player(player=player, changes={"given_name": "Quillan"}, stamp=now)
    issue(new=NewAssignment(item.id, player), stamp=now)
    texts = " ".join(LedgerEvent.objects.values_list("text", flat=True))

    assert str(player.id) in texts
    assert not any(name in texts for name in ("Quillon", "Quillan", "Zephyrmarsh"))
