"""What players have out, serial and counted, and since when: by player, and by team when the season is over."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, F, Max, Sum

from fitting.domain.first_contact import is_over
from fitting.models import Assignment, CountedGear, Receipt
from fitting.models.players import PlayerQuerySet
from fitting.queries.protection import seasons_of

SERIAL = {
    "serial": F("item__serial"),
    "tag": F("item__tag"),
    "model": F("item__model__name"),
    "size": F("item__size"),
    "condition": F("condition_at_issue"),
    "since": F("issued_at"),
}
COUNTED = ("id", "player_id", "kind", "size", "count", "given_back", "lost")
Row = dict[str, Any]


@dataclass(frozen=True)
class TeamOut:
    """How many pieces of a team (None: of players in no team) are out."""

    club_id: UUID
    club: str
    team_id: UUID | None
    team: str | None
    pieces: int


def out_with(player_ids: Iterable[UUID]) -> Mapping[UUID, list[Row]]:
    """What these players have out, by player, serial gear first; two queries."""
    ids = list(player_ids)
    out: dict[UUID, list[Row]] = defaultdict(list)
    serial = Assignment.objects.open().filter(player_id__in=ids).order_by("kind", "loan", "id")
    for row in serial.values("player_id", "item_id", "kind", "loan", **SERIAL):
        out[row["player_id"]].append(row | {"count": 1})
    counted = CountedGear.objects.outstanding().filter(player_id__in=ids).order_by("kind", "handed_out_at", "id")
    for row in counted.values(*COUNTED, condition=F("condition_at_issue"), since=F("handed_out_at")):
        out[row["player_id"]].append(row | {"count": row["count"] - row["given_back"] - row["lost"]})
    return out


def signed_at(player_ids: Iterable[UUID]) -> Mapping[UUID, datetime]:
    """When each of these players last had a receipt acknowledged; one query."""
    rows = Receipt.objects.filter(player_id__in=list(player_ids), acknowledged_at__isnull=False).order_by()
    return dict(rows.values_list("player_id").annotate(at=Max("acknowledged_at")))


def out_after_the_season(players: PlayerQuerySet, day: date) -> list[TeamOut]:
    """Teams whose clubs' season is over and whose players still have something; three queries."""
    over = [club_id for club_id, seasons in seasons_of(players, day).items() if is_over(seasons, day)]
    if not over:
        return []
    place = ("player__club_id", "player__club__name", "player__team_id", "player__team__name")
    of_them = {"player__in": players.filter(club_id__in=over).order_by().values("id")}
    pieces: dict[tuple[Any, ...], int] = defaultdict(int)
    serial = Assignment.objects.open().filter(**of_them).order_by().values_list(*place)
    counted = CountedGear.objects.outstanding().filter(**of_them).order_by().values_list(*place)
    for *key, many in serial.annotate(many=Count("id")):
        pieces[tuple(key)] += many
    for *key, many in counted.annotate(many=Sum(F("count") - F("given_back") - F("lost"))):
        pieces[tuple(key)] += many
    return [
        TeamOut(club_id, club, team_id, team, many)
        for (club_id, club, team_id, team), many in sorted(pieces.items(), key=_by_name)
    ]


def _by_name(entry: tuple[tuple[Any, ...], int]) -> tuple[str, str]:
    (_, club, _, team), _ = entry
    return (club, team or "~")
