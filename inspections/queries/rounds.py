"""How far this week's check is: by team in numbers, and of one team item by item."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, DateTimeField, Exists, F, OuterRef, Q, QuerySet, Value, When

from fitting.domain.players import label
from fitting.models import Assignment
from fitting.models.assignments import AssignmentQuerySet
from gearlife.domain.access import Actor
from gearlife.domain.days import first_moment, local_day
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, PolicyRule, Team
from gearlife.models.clocks import season_runs
from gearlife.queries.out_of_use import why_out_of_use_about
from gearlife.queries.recorded import read
from inspections.domain.rounds import NO_MODEL, Progress, Rhythm, progress_of, rhythm_of
from inspections.models import NotSeen

Row = dict[str, Any]
ORDER = (
    F("player__jersey_number").asc(nulls_last=True),
    *("player__family_name", "player__given_name", "player_id", "item__kind", "item_id"),
)


@dataclass(frozen=True)
class Place:
    """Where a round goes: a team, or the players of a club who are in none; `day` is the club's today."""

    id: UUID
    name: str
    club: Club
    day: date
    is_team: bool


def visible_places(actor: Actor, at: datetime) -> list[Place]:
    """Every team that the actor sees and, of a club seen whole, those in no team; clubs by name, then teams."""
    places = [_of_club(club, at) for club in _clubs(actor)]
    places += [_of_team(team, at) for team in Team.objects.visible_to(actor).select_related("club")]
    return sorted(places, key=lambda place: (place.club.name, place.club.id, not place.is_team, place.name, place.id))


def place_of(id_: UUID, actor: Actor, at: datetime) -> Place | None:
    """The team or club of this id; None where the actor sees none."""
    team = Team.objects.visible_to(actor).select_related("club").filter(id=id_).first()
    if team:
        return _of_team(team, at)
    club = _clubs(actor).filter(id=id_).first()
    return _of_club(club, at) if club else None


def rounds(actor: Actor, at: datetime) -> list[Row]:
    """Each place with how many items are worn, looked over and noted as not seen; one query a time zone.

    A club's row "in no team" is left out while nobody is in it; a team without worn gear is told as such.
    """
    rhythm, places = rhythm_on(actor, at), visible_places(actor, at)
    zones: dict[str, date] = {place.club.timezone: place.day for place in places}
    counted = {row["place"]: row for zone, day in zones.items() for row in _counted(actor, rhythm, zone, day)}
    in_season = _in_season(zones)
    rows = [_progress(place, counted.get(place.id), rhythm, in_season) for place in places]
    return [row for row in rows if row["place"].is_team or row["worn"]]


def round_of(place: Place, actor: Actor, at: datetime) -> list[Row]:
    """The worn items of a place by jersey number and name, in a number of queries that does not grow with them.

    Each with who wears it, `progress`, `not_seen` (the note that is still open), `stops` (why it must not be worn, in
    words) and `repairs` (open, that may still wait).
    """
    assignments = list(_worn(actor, place).order_by(*ORDER).select_related("player", "item__model", "item__club"))
    ids = [each.item_id for each in assignments]
    about, noted, rhythm = read(ids, place.day), _noted(ids), rhythm_on(actor, at)
    stops = why_out_of_use_about(about, place.day)
    return [_line(each, place, rhythm, about, noted, stops) for each in assignments]


def rhythm_on(actor: Actor, at: datetime) -> Rhythm:
    """The rhythm under the rules of the actor's organisation."""
    rules = PolicyRule.objects.filter(organisation_id=actor.organisation_id)
    return rhythm_of([rule.as_rule() for rule in rules], local_day(at, actor.timezone))


def _clubs(actor: Actor) -> QuerySet[Club]:
    """The clubs whose players without a team the actor sees: not a coach's."""
    clubs = Club.objects.visible_to(actor)
    return clubs if actor.sees_every_club else clubs.filter(id__in=actor.club_ids)


def _of_team(team: Team, at: datetime) -> Place:
    return Place(team.id, team.name, team.club, local_day(at, team.club.timezone), is_team=True)


def _of_club(club: Club, at: datetime) -> Place:
    return Place(club.id, club.name, club, local_day(at, club.timezone), is_team=False)


def _in_season(zones: Mapping[str, date]) -> set[UUID]:
    """The clubs of these time zones whose season runs today."""
    running = Q()
    for zone, day in zones.items():
        running |= Q(season_runs("id", day), timezone=zone)
    return set(Club.objects.filter(running).values_list("id", flat=True)) if zones else set()


def _counted(actor: Actor, rhythm: Rhythm, zone: str, day: date) -> list[Row]:
    """Worn items, and those looked over and not seen in their round, by team or club."""
    worn = Assignment.objects.visible_to(actor).open().filter(player__club__timezone=zone)
    begins = _begins(rhythm, zone, day)
    noted = NotSeen.objects.filter(item_id=OuterRef("item_id"), noted_at__gte=OuterRef("begins"))
    asked = worn.annotate(begins=begins).annotate(noted=Exists(noted))
    looked = Q(item__last_look_at__gte=F("begins"))
    counts = asked.values("player__team_id", "player__club_id").annotate(
        worn=Count("id"),
        looked_over=Count("id", filter=looked),
        not_seen=Count("id", filter=Q(noted=True) & ~(Q(item__last_look_at__isnull=False) & looked)),
    )
    return [row | {"place": row["player__team_id"] or row["player__club_id"]} for row in counts.order_by()]


def _begins(rhythm: Rhythm, zone: str, day: date) -> Case:
    """The first moment of each item's round."""
    of_models = [
        When(item__kind=kind.value, item__model_id=model_id, then=_moment(rhythm.begins_on(kind, model_id, day), zone))
        for kind, model_id in rhythm.of_model
    ]
    of_kinds = [
        When(item__kind=kind.value, then=_moment(rhythm.begins_on(kind, NO_MODEL, day), zone))
        for kind in rhythm.of_kind
    ]
    return Case(*of_models, *of_kinds, output_field=DateTimeField())


def _moment(day: date, zone: str) -> Value:
    return Value(first_moment(day, zone), output_field=DateTimeField())


def _progress(place: Place, counted: Row | None, rhythm: Rhythm, in_season: set[UUID]) -> Row:
    counts = {name: counted[name] if counted else 0 for name in ("worn", "looked_over", "not_seen")}
    asked = rhythm.asked(in_season=place.club.id in in_season)
    not_yet = counts["worn"] - counts["looked_over"] - counts["not_seen"]
    return {"place": place, "asked": asked, "not_yet": not_yet, **counts}


def _worn(actor: Actor, place: Place) -> AssignmentQuerySet:
    worn = Assignment.objects.visible_to(actor).open()
    of = {"player__team_id": place.id} if place.is_team else {"player__club_id": place.id, "player__team": None}
    return worn.filter(**of)


def _noted(item_ids: Iterable[UUID]) -> dict[UUID, Row]:
    """The latest note of each item that it was not there."""
    notes = NotSeen.objects.filter(item_id__in=list(item_ids)).order_by("noted_at", "id")
    return {row["item_id"]: row for row in notes.values("item_id", "noted_at", "note", "player_id")}


def _line(
    worn: Assignment,
    place: Place,
    rhythm: Rhythm,
    about: Recorded,
    noted: Mapping[UUID, Row],
    stops: Mapping[UUID, list[str]],
) -> Row:
    item, player = worn.item, worn.player
    kind, note = Kind(item.kind), noted.get(item.id)
    begins_on = rhythm.begins_on(kind, item.model_id, place.day)
    looked_at = item.last_look_at
    is_open = note is not None and (looked_at is None or note["noted_at"] > looked_at)
    return {
        "id": item.id,
        "assignment": worn.id,
        "player": player.id,
        "number": player.jersey_number,
        "name": f"{player.given_name} {player.family_name}",
        "label": label(player.given_name, player.family_name, player.jersey_number),
        "kind": kind,
        "serial": item.serial,
        "tag": item.tag,
        "what": item.label,
        "model": item.model.name,
        "size": item.size,
        "loan": worn.loan,
        "last_look_at": looked_at,
        "last_look_on": local_day(looked_at, place.club.timezone) if looked_at else None,
        "progress": progress_of(looked_at, note["noted_at"] if note else None, begins_on, place.club.timezone),
        "not_seen": note if is_open else None,
        "stops": stops.get(item.id, []),
        "repairs": [hold for hold in about.holds.get(item.id, ()) if hold.deferred and hold.starts_on > place.day],
    }


def next_open(lines: Iterable[Row], after: UUID | None = None) -> Row | None:
    """The next line that nobody has looked over yet, from the one after this item on, and round again to the first."""
    order = list(lines)
    at = next((place for place, row in enumerate(order) if row["id"] == after), -1)
    return next((row for row in (*order[at + 1 :], *order[: at + 1]) if row["progress"] is Progress.NOT_YET), None)
