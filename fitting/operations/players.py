"""Players: plain columns. What is personal stays in these tables and out of the ledger."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction

from fitting.domain.intake import name_key
from fitting.models import Assignment, Player
from fitting.operations.present import refuse_removed
from fitting.operations.set_asides import put_back_of
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Club, Item, Team
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle


@dataclass(frozen=True)
class NewPlayer:
    """A player to add."""

    club: Club
    given_name: str
    family_name: str
    team: Team | None = None
    jersey_number: int | None = None
    birth_year: int | None = None
    position: str = ""
    id: UUID | None = None


def add_player(*, new: NewPlayer, stamp: Stamp) -> Player:
    """Add one player; InvalidInputError when the team is another club's."""
    return add_players(new=[new], stamp=stamp)[0]


def add_players(*, new: Iterable[NewPlayer], stamp: Stamp) -> list[Player]:
    """Add players, all or none, in one insert."""
    return Player.objects.bulk_create([_built(each, stamp) for each in new], batch_size=500)


def change_player(*, player: Player, changes: Mapping[str, Any], stamp: Stamp) -> Player:
    """Change plain columns; with another team, what the player has out moves along into that team's sight."""
    change_players(changed=[(player, changes)], stamp=stamp)
    return player


@transaction.atomic
def change_players(*, changed: Sequence[tuple[Player, Mapping[str, Any]]], stamp: Stamp) -> None:
    """Change many players, all or none: everything that they have out is locked first, the ledger comes last.

    Who leaves the teams plays no more: what is set aside for such a player is put back.
    """
    refuse_removed(player for player, _ in changed)
    items = _out_with(player.id for player, changes in changed if "team" in changes)
    left = [player.id for player, changes in changed if player.team_id and changes.get("team", ...) is None]
    for player, changes in changed:
        _change(player, changes)
    put_back = put_back_of(left, stamp)
    _move_along([(item, player.team) for player, _ in changed for item in items[player.id]], put_back, stamp)


def _built(new: NewPlayer, stamp: Stamp) -> Player:
    _refuse_foreign_team(new.team, new.club.id)
    player = Player(
        organisation_id=stamp.actor.organisation_id,
        club=new.club,
        team=new.team,
        given_name=new.given_name,
        family_name=new.family_name,
        name_key=name_key(new.given_name, new.family_name),
        jersey_number=new.jersey_number,
        birth_year=new.birth_year,
        position=new.position,
    )
    player.id = new.id or player.id
    return player


def _refuse_foreign_team(team: Team | None, club_id: UUID) -> None:
    if team and team.club_id != club_id:
        raise InvalidInputError.at("/team", "This team is another club's.")


def _out_with(player_ids: Iterable[UUID]) -> Mapping[UUID, Sequence[Item]]:
    """What these players have out, by player, locked."""
    out = Assignment.objects.open().filter(player_id__in=list(player_ids))
    holders = dict(out.values_list("item_id", "player_id"))
    items: dict[UUID, list[Item]] = defaultdict(list)
    for item in Item.objects.locked(holders):
        items[holders[item.id]].append(item)
    return items


def _change(player: Player, changes: Mapping[str, Any]) -> None:
    before = [player.given_name, player.family_name]
    for name, value in changes.items():
        setattr(player, name, value)
    if before != [player.given_name, player.family_name] and before not in player.former_names:
        player.former_names = [*player.former_names, before]
    _refuse_foreign_team(player.team, player.club_id)
    player.name_key = name_key(player.given_name, player.family_name)
    player.version += 1
    player.save()


def _move_along(items: Iterable[tuple[Item, Team | None]], put_back: Sequence[Entry], stamp: Stamp) -> None:
    own = [(item, team) for item, team in items if team and team.club_id == item.club_id]
    moved = [(item, team) for item, team in own if item.team_id != team.id]
    entries = [Entry("changed", item.id, {"team": [item.team_id, team]}) for item, team in moved]
    for item, team in moved:
        item.team = team
    Item.objects.bulk_update([item for item, _ in moved], ["team"], batch_size=200)
    settle([item.id for item, _ in moved], [*entries, *put_back], stamp)
