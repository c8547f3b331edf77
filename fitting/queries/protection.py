"""Who lacks gear that protects as the first contact comes near, asked of the records and never kept.

Helmet and shoulder pads are asked for in every club; a counted piece only where the club has handed out any of its kind
for this season: whoever records none is told nothing of them.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, DateTimeField, Exists, Max, OuterRef, Q, Value, When

from fitting.domain.counted_gear import CONSUMED, PIECES, PROTECTS, CountedKind
from fitting.domain.first_contact import SeasonDays, contact_on
from fitting.models import Assignment, CountedGear
from fitting.models.players import PlayerQuerySet
from gearlife.domain.days import start_of
from gearlife.domain.vocabulary import Kind
from gearlife.models import Season

# Seasons that are over for longer say nothing of this one.
LOOKED_BACK = timedelta(days=800)
PLACE = ("club_id", "club__name", "club__code", "team_id", "team__name")


@dataclass(frozen=True)
class Asked:
    """What a club's players are asked for, and before which day; what came before `since` was for another season."""

    contact_on: date
    since: datetime
    pieces: tuple[str, ...]


@dataclass(frozen=True)
class TeamLacks:
    """How many players of a team lack which piece."""

    club_id: UUID
    club: str
    team_id: UUID
    team: str
    contact_on: date
    pieces: Sequence[tuple[str, int]]


def seasons_of(players: PlayerQuerySet, day: date) -> Mapping[UUID, list[SeasonDays]]:
    """The seasons that a day may belong to, by club, of every club of these players, in one query."""
    rows = Season.objects.filter(club__in=players.order_by().values("club"), ends_on__gte=day - LOOKED_BACK)
    seasons: dict[UUID, list[SeasonDays]] = defaultdict(list)
    for club_id, *days in rows.values_list("club_id", "starts_on", "ends_on", "first_contact_on"):
        seasons[club_id].append(SeasonDays(*days))
    return seasons


def asked_of(players: PlayerQuerySet, day: date) -> Mapping[UUID, Asked]:
    """What is asked for on a day, by club, of every club of these players; out of season nothing is. Two queries."""
    found = {id_: contact for id_, of in seasons_of(players, day).items() if (contact := contact_on(of, day))}
    if not found:
        return {}
    since = {club_id: start_of(contact.since) for club_id, contact in found.items()}
    counted = CountedGear.objects.filter(player__club_id__in=since, handed_out_at__gte=min(since.values()))
    rows = counted.values_list("player__club_id", "kind").annotate(last=Max("handed_out_at"))
    kinds = {(club_id, kind) for club_id, kind, last in rows if kind in PROTECTS and last >= since[club_id]}
    return {
        club_id: Asked(contact.on, since[club_id], tuple(p for p in PIECES if _is_serial(p) or (club_id, p) in kinds))
        for club_id, contact in found.items()
    }


def teams_lacking(players: PlayerQuerySet, day: date) -> list[TeamLacks]:
    """The teams of these players in which somebody lacks something, by club and team; three queries."""
    asked = asked_of(players, day)
    if not asked:
        return []
    counts = {f"no_{piece}": Count("id", filter=Q(**{f"lacks_{piece}": True})) for piece in PIECES}
    marked = _marked(players.filter(team__isnull=False, club_id__in=asked), asked)
    rows = marked.order_by("club__name", "team__name", "team_id").values(*PLACE).annotate(**counts)
    return [team for row in rows if (team := _team(row, asked[row["club_id"]])).pieces]


def lacks_of(players: PlayerQuerySet, day: date) -> Mapping[UUID, list[str]]:
    """What each of these players lacks, by player; who lacks nothing or was removed is not in it. Three queries."""
    asked = asked_of(players, day)
    if not asked:
        return {}
    marked = _marked(players.present().filter(club_id__in=asked), asked)
    rows = marked.order_by().values("id", "club_id", *(f"lacks_{piece}" for piece in PIECES))
    lacks = {row["id"]: [p for p in asked[row["club_id"]].pieces if row[f"lacks_{p}"]] for row in rows}
    return {id_: pieces for id_, pieces in lacks.items() if pieces}


def _is_serial(piece: str) -> bool:
    return piece in set(Kind)


def _team(row: Mapping[str, Any], asked: Asked) -> TeamLacks:
    pieces = [(piece, row[f"no_{piece}"]) for piece in asked.pieces if row[f"no_{piece}"]]
    return TeamLacks(row["club_id"], row["club__name"], row["team_id"], row["team__name"], asked.contact_on, pieces)


def _marked(players: PlayerQuerySet, asked: Mapping[UUID, Asked]) -> PlayerQuerySet:
    """The players, each with `lacks_PIECE` for every piece that there is."""
    clubs: dict[datetime, list[UUID]] = defaultdict(list)
    for club_id, each in asked.items():
        clubs[each.since].append(club_id)
    whens = [When(club_id__in=ids, then=Value(since)) for since, ids in clubs.items()]
    of_season = players.annotate(since=Case(*whens, output_field=DateTimeField()))
    marked: PlayerQuerySet = of_season.annotate(**{f"lacks_{piece}": ~Exists(_has(piece)) for piece in PIECES})
    return marked


def _has(piece: str) -> Any:  # noqa: ANN401 - a queryset of assignments or of counted gear
    """What makes that a player has a piece."""
    if _is_serial(piece):
        return Assignment.objects.open().filter(player=OuterRef("pk"), kind=piece)
    own = CountedGear.objects.filter(player=OuterRef("pk"), kind=piece)
    if CountedKind(piece) in CONSUMED:
        return own.filter(handed_out_at__gte=OuterRef("since"))
    return own.outstanding()
