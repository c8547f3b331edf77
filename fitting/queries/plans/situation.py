"""Everything that plans are made from, by club and kind of gear, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Max

from fitting.domain.charts import ranges_of
from fitting.domain.planning import Entrant, Model, Room, Worn
from fitting.domain.sizing import Estimate, Sizing
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Fit, Measurement, Player, SizeChart
from fitting.queries.plans.gear import Gear, gear_of
from fitting.queries.plans.scope import Scope
from fitting.queries.sizes import estimates_of
from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models import GearModel

PLAYER = ("id", "club_id", "team__level", "position")
MODEL = ("id", "name", "kind", "liner", "levels")
OfPlayer = Mapping[tuple[UUID, Kind], UUID]


@dataclass(frozen=True)
class Pool:
    """The players and the gear of one kind in one club: nothing crosses to another."""

    club_id: UUID
    entrants: Sequence[Entrant]
    room: Room


def pools_of(scope: Scope) -> list[Pool]:
    """The pools of a scope, clubs with a season alone, in order of club and kind."""
    players: list[tuple[UUID, UUID, str | None, str]] = list(
        Player.objects.present()
        .filter(scope.of_players(), club_id__in=list(scope.seasons))
        .order_by("id")
        .values_list(*PLAYER)
    )
    worn, last = _worn(scope), _last(scope)
    gear, models = gear_of(scope, worn.values()), _models(scope)
    people = _People(gear, worn, last, estimates_of([id_ for id_, *_ in players]), _measured_on(scope))
    by_club: dict[UUID, list[tuple[UUID, str, str]]] = defaultdict(list)
    for player_id, club_id, level, position in players:
        by_club[club_id].append((player_id, level or "", position))
    return [
        Pool(club_id, people.entrants(by_club[club_id], kind), _room(club_id, kind, gear, models))
        for club_id in sorted(by_club)
        for kind in scope.kinds
    ]


@dataclass(frozen=True)
class _People:
    """What is known of players."""

    gear: Gear
    worn: OfPlayer
    last: OfPlayer
    measures: Mapping[UUID, Mapping[MeasurementKind, Estimate]]
    measured_on: Mapping[UUID, date]

    def entrants(self, players: Iterable[tuple[UUID, str, str]], kind: Kind) -> list[Entrant]:
        """These players, each with a team's level and a position, as a plan for this kind asks of them."""
        return [self._entrant(player_id, level, position, kind) for player_id, level, position in players]

    def _entrant(self, player_id: UUID, level: str, position: str, kind: Kind) -> Entrant:
        worn = self.worn.get((player_id, kind))
        return Entrant(
            id=player_id,
            level=level,
            measures=self.measures.get(player_id, {}),
            measured_on=self.measured_on.get(player_id),
            worn=self._is_worn(worn) if worn else None,
            last=self.last.get((player_id, kind)),
            position=position,
        )

    def _is_worn(self, item_id: UUID) -> Worn:
        return Worn(item_id, self.gear.labels.get(item_id, "?"), self.gear.not_lasting.get(item_id, ""))


def _worn(scope: Scope) -> OfPlayer:
    """What each player has that is not lent."""
    own = Assignment.objects.open().filter(scope.of_players("player__"), loan=False, kind__in=scope.kind_words)
    return {(player, Kind(kind)): item for player, kind, item in own.values_list("player_id", "kind", "item_id")}


def _last(scope: Scope) -> OfPlayer:
    """What fitted each player last, as its fitter accepted it; else what was given back last, if no fit refused it."""
    fits = Fit.objects.filter(scope.of_players("player__"), item__kind__in=scope.kind_words)
    told = list(fits.order_by("fitted_at", "id").values_list("player_id", "item__kind", "item_id", "accepted"))
    # Of one item on one player the latest fit counts.
    accepted = {(player, item): yes for player, _, item, yes in told}
    had = {key: item for key, item in _given_back(scope).items() if accepted.get((key[0], item), True)}
    fitted = {(player, Kind(kind)): item for player, kind, item, _ in told if accepted[player, item]}
    return had | fitted


def _given_back(scope: Scope) -> OfPlayer:
    """What each player had last, and has given back."""
    had = Assignment.objects.filter(
        scope.of_players("player__"), loan=False, kind__in=scope.kind_words, returned_at__isnull=False
    )
    rows = had.order_by("returned_at", "id").values_list("player_id", "kind", "item_id")
    return {(player, Kind(kind)): item for player, kind, item in rows}


def _measured_on(scope: Scope) -> Mapping[UUID, date]:
    """The day from which the oldest is of what counts of each player: the newest of each kind."""
    taken = Measurement.objects.filter(scope.of_players("player__")).order_by().values_list("player_id", "kind")
    oldest: dict[UUID, date] = {}
    for player_id, _kind, day in taken.annotate(newest=Max("taken_on")):
        oldest[player_id] = min(oldest.get(player_id, day), day)
    return oldest


def _models(scope: Scope) -> Mapping[UUID, tuple[Kind, Model]]:
    """Every model of the organisation with the newest chart of its maker."""
    rows = GearModel.objects.filter(organisation_id=scope.organisation_id).order_by("id").values_list(*MODEL)
    charts = SizeChart.objects.filter(organisation_id=scope.organisation_id).newest()
    chart_of = {
        id_: (chart, positions) for id_, chart, positions in charts.values_list("model_id", "rows", "positions")
    }
    return {
        id_: (Kind(kind), _model(id_, name, liner, levels, *chart_of.get(id_, ([], []))))
        for id_, name, kind, liner, levels in rows
    }


def _model(
    id_: UUID, name: str, liner: str, levels: Sequence[str], rows: Sequence[Mapping[str, Any]], positions: Sequence[str]
) -> Model:
    sizing = Sizing(*ranges_of(rows)) if rows else None
    return Model(id_, name, Liner(liner), frozenset(levels), sizing, tuple(positions))


def _room(club_id: UUID, kind: Kind, gear: Gear, models: Mapping[UUID, tuple[Kind, Model]]) -> Room:
    of_kind = {id_: model for id_, (its_kind, model) in models.items() if its_kind is kind}
    return Room(kind, of_kind, gear.pieces.get((club_id, kind), []))
