"""Rooms, charts and players of an invented club, as a plan takes them."""

from datetime import date
from typing import Any
from uuid import UUID

from fitting.domain.plan_words import Told, told
from fitting.domain.planning import Entrant, Model, Piece, Room, Solved, solve
from fitting.domain.pools import Weights
from fitting.domain.sizing import Estimate, SizeRange, Sizing
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind, Liner

DAY = date(2026, 7, 20)
HEAD, CHEST, SHOULDERS = MeasurementKind
LANTERN, KESTREL = UUID(int=1), UUID(int=2)
SIZES = (("S", 520, 550), ("M", 550, 580), ("L", 580, 610))
WITHOUT_SPARES = Weights(spare_percent=0)


def chart(*sizes: tuple[str, float, float], kind: MeasurementKind = HEAD) -> tuple[SizeRange, ...]:
    return tuple(SizeRange(size, kind, start, end) for size, start, end in sizes or SIZES)


def model(id_: UUID = LANTERN, name: str = "Lantern", **facts: Any) -> Model:
    return Model(**{"id": id_, "name": name, "liner": Liner.AIR, "sizing": Sizing(chart()), **facts})


def piece(number: int, size: str = "M", of: UUID = LANTERN, **facts: Any) -> Piece:
    return Piece(**{"id": UUID(int=number), "model_id": of, "size": size, "label": f"H{number}", **facts})


def room(*pieces: Piece, models: tuple[Model, ...] | None = None, kind: Kind = Kind.HELMET) -> Room:
    known = (model(),) if models is None else models
    return Room(kind, {each.id: each for each in known}, pieces)


def entrant(number: int, head_mm: float | None = 565, error_mm: float = 2, **facts: Any) -> Entrant:
    """A player whose head is surely of size M unless told otherwise."""
    measures = {} if head_mm is None else {HEAD: Estimate(head_mm, error_mm)}
    return Entrant(**{"id": UUID(int=number), "measures": measures, "measured_on": DAY, **facts})


def solved(*entrants: Entrant, gear: Room, weights: Weights = WITHOUT_SPARES) -> Solved:
    return solve(entrants, gear, weights)


def words(*entrants: Entrant, gear: Room, weights: Weights = WITHOUT_SPARES) -> Told:
    return told(solved(*entrants, gear=gear, weights=weights), DAY)
