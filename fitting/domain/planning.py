"""A plan for the players and the gear of one club and one kind: the hard rules, the best allocation, and why.

Measurements go in and never come out: of a player a plan says a size, and how likely it is in words.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache
from uuid import UUID

from fitting.domain.pools import Aims, Allocation, Group, Offer, Wearer, Weights, aims_of
from fitting.domain.sizing import POSSIBLE, Candidate, Estimate, Likelihood, Sizing
from fitting.domain.styles import is_for_others
from fitting.domain.vocabulary import MeasurementKind, PlanOutcome
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Kind, Liner

# `sizing_many.possible_of`.
Asked = tuple[Mapping[MeasurementKind, Estimate], float | None]
PossibleOf = Callable[[Sizing, Sequence[Asked]], list[list[Candidate]]]


@lru_cache(maxsize=4096)
def label_key(label: str) -> str:
    """The form in which sizes and levels are compared: a club has few, and asks for them again and again."""
    return normal_form(label)


@dataclass(frozen=True)
class Model:
    """A model with the newest chart of its maker; `levels` and `positions` are those that the maker states, if any."""

    id: UUID
    name: str
    liner: Liner = Liner.OTHER
    levels: frozenset[str] = frozenset()
    sizing: Sizing | None = None
    positions: Sequence[str] = ()

    def is_for(self, level: str) -> bool:
        """Whether the maker's words leave it to players of this level; of an unknown one nobody can tell."""
        return not self.levels or label_key(level) in self._levels

    @cached_property
    def _levels(self) -> frozenset[str]:
        return frozenset(map(normal_form, self.levels))


# A model with its chart made ready.
Chart = tuple[Model, Sizing]


@dataclass(frozen=True, slots=True)
class Piece:
    """An item of the club. `against` is a code that says why it may not go out up to the last game; empty: it may.

    `only_for` is the one player whom it was made for or is set aside for; `label` is what people call it.
    """

    id: UUID
    model_id: UUID
    size: str
    label: str
    made_on: date | None = None
    against: str = ""
    because: str = ""
    only_for: UUID | None = None

    @property
    def group(self) -> Group:
        """Its model and size."""
        return (self.model_id, label_key(self.size))


@dataclass(frozen=True, slots=True)
class Worn:
    """What a player has now; `because` says why it does not last the season, empty: nothing recorded says so."""

    item_id: UUID
    label: str
    because: str = ""


@dataclass(frozen=True, slots=True)
class Entrant:
    """A player of the plan: the team's level as it is written, what was measured, what is worn, what fitted before."""

    id: UUID
    level: str = ""
    measures: Mapping[MeasurementKind, Estimate] = field(default_factory=dict)
    measured_on: date | None = None
    weight_kg: float | None = None
    worn: Worn | None = None
    last: UUID | None = None
    position: str = ""


@dataclass(frozen=True)
class Room:
    """The gear of one kind in one club: every piece that is in use, wherever it is, and its models."""

    kind: Kind
    models: Mapping[UUID, Model]
    pieces: Sequence[Piece]

    @cached_property
    def offers(self) -> list[Offer]:
        """What may go out."""
        return [Offer(p.id, p.group, p.made_on, p.only_for) for p in self.pieces if not p.against]

    def for_others(self, position: str) -> frozenset[UUID]:
        """The models that their makers made for other positions than this: a wish, and nobody is left out for it."""
        return frozenset(id_ for id_, model in self.models.items() if is_for_others(model.positions, position))


@dataclass(frozen=True)
class Chances:
    """Sizes of one player by model as charts and level leave them, the most probable first; else why there are none."""

    by_model: Mapping[UUID, Sequence[Candidate]] = field(default_factory=dict)
    none_because: PlanOutcome | None = None
    missing: frozenset[MeasurementKind] = frozenset()

    @property
    def groups(self) -> dict[Group, float]:
        """The probability of each size of each model."""
        return {
            (model_id, label_key(each.size)): each.probability
            for model_id, candidates in self.by_model.items()
            for each in candidates
        }

    def of(self, group: Group) -> Candidate:
        """The size of that name."""
        return next(each for each in self.by_model[group[0]] if label_key(each.size) == group[1])


@dataclass(frozen=True)
class Solved:
    """A plan in full: who was asked for, each one's chances, and the allocation to those who need one."""

    room: Room
    entrants: Sequence[Entrant]
    chances: Mapping[UUID, Chances]
    aims: Aims
    allocation: Allocation

    def outcome(self, entrant: Entrant) -> PlanOutcome:
        """What the plan says of a player."""
        if lasts(entrant):
            return PlanOutcome.HAS_ONE
        if entrant.id in self.allocation.items:
            return PlanOutcome.PLANNED
        return self.chances[entrant.id].none_because or PlanOutcome.SHORT


def solve(entrants: Iterable[Entrant], room: Room, weights: Weights) -> Solved:
    """The best plan; players in order of their ids."""
    # numpy and scipy take more than a second to load, and most processes never plan: here and nowhere else.
    from fitting.domain.allocation import allocate  # noqa: PLC0415
    from fitting.domain.sizing_many import possible_of  # noqa: PLC0415

    known = sorted(entrants, key=lambda entrant: entrant.id.int)
    chances = Choices(room).chances_of([each for each in known if not lasts(each)], possible_of)
    other_style = {position: room.for_others(position) for position in {each.position for each in known}}
    wearers = [
        Wearer(each.id, chances[each.id].groups, each.last, other_style[each.position])
        for each in known
        if each.id in chances
    ]
    aims = aims_of(room.offers, weights)
    return Solved(room, known, chances, aims, allocate(wearers, room.offers, weights, aims))


def lasts(entrant: Entrant) -> bool:
    """Whether the player has one already that nothing recorded ends before the season's last game."""
    return entrant.worn is not None and not entrant.worn.because


class Choices:
    """The sizes of players by the charts of one room."""

    def __init__(self, room: Room) -> None:
        """The models that the club has pieces of and that have a chart."""
        held = {piece.model_id for piece in room.pieces}
        models = sorted(room.models.values(), key=lambda model: model.id.int)
        self._charts = [(model, model.sizing) for model in models if model.id in held and model.sizing]
        self._of_level: dict[str, list[Chart]] = {}

    def chances(self, entrant: Entrant) -> Chances:
        """What the hard rules leave of sizes: measured, charted, of one in ten at least, and of the right level."""
        found = self._possible(self._for(entrant.level), entrant)
        return Chances(found) if found else self._none(entrant)

    def chances_of(self, entrants: Sequence[Entrant], possible_of: PossibleOf) -> dict[UUID, Chances]:
        """The same of many, by id: each chart is asked once for all whom it is about."""
        about: dict[int, list[int]] = {number: [] for number in range(len(self._charts))}
        number_of = {model.id: number for number, (model, _) in enumerate(self._charts)}
        for person, entrant in enumerate(entrants):
            for model, _ in self._measured(self._for(entrant.level), entrant):
                about[number_of[model.id]].append(person)
        found: list[dict[UUID, Sequence[Candidate]]] = [{} for _ in entrants]
        for number, (model, sizing) in enumerate(self._charts):
            asked = [(entrants[person].measures, entrants[person].weight_kg) for person in about[number]]
            for person, candidates in zip(about[number], possible_of(sizing, asked), strict=True):
                if candidates:
                    found[person][model.id] = candidates
        return {each.id: Chances(of) if of else self._none(each) for each, of in zip(entrants, found, strict=True)}

    def _none(self, entrant: Entrant) -> Chances:
        """Why there is no size for a player."""
        if not self._charts:
            return Chances(none_because=PlanOutcome.NO_CHART)
        lacking = [sizing.kinds - entrant.measures.keys() for _, sizing in self._charts]
        if all(lacking):
            return Chances(none_because=PlanOutcome.NO_MEASUREMENT, missing=min(lacking, key=_by_few))
        of_any_level = self._possible(self._charts, entrant)
        return Chances(none_because=PlanOutcome.OTHER_LEVEL if of_any_level else PlanOutcome.NO_SIZE)

    def _for(self, level: str) -> list[Chart]:
        """The charts of what may go to players of a level."""
        if level not in self._of_level:
            self._of_level[level] = [(model, sizing) for model, sizing in self._charts if model.is_for(level)]
        return self._of_level[level]

    def _measured(self, charts: Iterable[Chart], entrant: Entrant) -> Iterable[Chart]:
        """Those for which everything is measured."""
        return (chart for chart in charts if chart[1].kinds <= entrant.measures.keys())

    def _possible(self, charts: Iterable[Chart], entrant: Entrant) -> dict[UUID, Sequence[Candidate]]:
        found: dict[UUID, Sequence[Candidate]] = {}
        for model, sizing in self._measured(charts, entrant):
            sizes = sizing.of(entrant.measures, entrant.weight_kg)
            if possible := [each for each in sizes if each.probability >= POSSIBLE]:
                found[model.id] = possible
        return found


def _by_few(kinds: frozenset[MeasurementKind]) -> tuple[int, list[MeasurementKind]]:
    return len(kinds), sorted(kinds)


@dataclass(frozen=True)
class Line:
    """What a plan says of one player: the item and its size where there is one, and why, in words."""

    player_id: UUID
    outcome: PlanOutcome
    because: str
    item_id: UUID | None = None
    size: str = ""
    likelihood: Likelihood | None = None
