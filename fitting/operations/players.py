"""Players and their measurements: plain columns. What is personal stays in these tables and out of the ledger."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction

from fitting.domain.intake import name_key
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Measurement, Player
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


@transaction.atomic
def change_player(*, player: Player, changes: Mapping[str, Any], stamp: Stamp) -> Player:
    """Change plain columns; with another team, what the player has out moves along into that team's sight."""
    worn = list(Assignment.objects.open().filter(player=player).values_list("item_id", flat=True))
    items = Item.objects.locked(worn) if "team" in changes else []
    for name, value in changes.items():
        setattr(player, name, value)
    _refuse_foreign_team(player.team, player.club_id)
    player.name_key = name_key(player.given_name, player.family_name)
    player.version += 1
    player.save()
    _move_along(items, player.team, stamp)
    return player


def record_measurement(
    *, player: Player, kind: MeasurementKind, readings_mm: Sequence[int], protocol: str, taken_on: date, stamp: Stamp
) -> Measurement:
    """Keep one measurement: readings in whole millimetres, and in words where the tape lay."""
    return Measurement.objects.create(
        organisation_id=player.organisation_id,
        player=player,
        kind=kind.value,
        protocol=protocol,
        readings_mm=list(readings_mm),
        taken_on=taken_on,
        recorded_at=stamp.at,
    )


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


def _move_along(items: Iterable[Item], team: Team | None, stamp: Stamp) -> None:
    moved = [item for item in items if team and item.team_id != team.id]
    entries = [Entry("changed", item.id, {"team": [item.team_id, team]}) for item in moved]
    for item in moved:
        item.team = team
    Item.objects.bulk_update(moved, ["team"], batch_size=200)
    settle([item.id for item in moved], entries, stamp)
