"""The words of a plan: why each player gets what, why another gets nothing, and what is short."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from fitting.domain.planning import Chances, Entrant, Line, Model, Piece, Solved, label_key
from fitting.domain.pools import Group
from fitting.domain.sizing import Candidate, Likelihood
from fitting.domain.vocabulary import MeasurementKind, PlanOutcome
from gearlife.domain.vocabulary import Kind, Liner, Whereabouts

# Bodies are measured every season; what is older is from the last one.
MEASURED_LONG_AGO = timedelta(days=270)
SET_ASIDE, MADE_FOR_ONE, LOANER = "set_aside", "made_for_one", "loaner"
KINDS = {Kind.HELMET: "helmets", Kind.SHOULDER_PADS: "shoulder pads"}
MEASURES = {
    MeasurementKind.HEAD_CIRCUMFERENCE: "head circumference",
    MeasurementKind.CHEST_CIRCUMFERENCE: "chest circumference",
    MeasurementKind.SHOULDER_WIDTH: "shoulder width",
}
OTHERWISE = "in the room that may not go out (%s)"
ELSEWHERE = {
    Whereabouts.RECONDITIONER.value: "at the reconditioner",
    Whereabouts.PLAYER.value: "with players",
    Whereabouts.MISSING.value: "missing",
    SET_ASIDE: "set aside for others",
    MADE_FOR_ONE: "made for one player alone",
    LOANER: "set up as loaners for games",
    "certification": "in the room, not certified up to the last game",
    "age_limit": "in the room, too old before the last game",
    "made_on_unknown": "in the room, with no known day of making",
    "hold": "in the room, stopped",
    "repair": "in the room, to be repaired",
    "not_inspected_since_back": "in the room, not inspected since it came back",
    "full_inspection": "in the room, to be inspected",
}


@dataclass(frozen=True)
class Short:
    """How many of which sizes there are too few of: for players, or only as spares; and where more of them are."""

    count: int
    sizes: Sequence[Group]
    elsewhere: Mapping[str, int]
    words: str
    for_spares: bool = False


@dataclass(frozen=True)
class Told:
    """A plan in words: each player's line, what is short, and what keeps gear out of it."""

    lines: Sequence[Line]
    short: Sequence[Short]
    notes: Sequence[str]


def told(solved: Solved, day: date) -> Told:
    """Everything that people are told of a plan that was made on a day."""
    lines = _Lines(solved, day)
    short = _Shortages(solved)
    return Told([lines.line(each) for each in solved.entrants], [*short.players(), *short.spares()], [*short.charts()])


class _Pool:
    """What all words about one pool ask; counts of it are taken once."""

    def __init__(self, solved: Solved) -> None:
        self.solved, self.room = solved, solved.room
        self.pieces = {piece.id: piece for piece in solved.room.pieces}
        self.goes_out = set(solved.allocation.items.values())

    @cached_property
    def offered(self) -> Counter[Group]:
        """How many of each size may go out to anybody."""
        return Counter(offer.group for offer in self.room.offers if offer.only_for is None)

    @cached_property
    def labels(self) -> dict[Group, str]:
        """Each size as the charts or the gear have it written."""
        written = {piece.group: piece.size for piece in self.room.pieces}
        charted = [(model.id, model.sizing.sizes) for model in self.room.models.values() if model.sizing]
        return written | {(model_id, label_key(size)): size for model_id, sizes in charted for size in sizes}

    def wanted(self, entrant: Entrant) -> tuple[Group, ...]:
        """The most probable size of each model that is left to the player."""
        by_model = self.solved.chances[entrant.id].by_model
        return tuple(sorted((model_id, label_key(found[0].size)) for model_id, found in by_model.items()))

    def sizes(self, groups: Iterable[Group]) -> str:
        """Sizes in words, each label with the models that it is one of: letters of two models are not the same size."""
        models = [(self.room.models[model_id], self.labels[model_id, key]) for model_id, key in groups]
        alike: dict[str, list[str]] = defaultdict(list)
        for model, size in models:
            alike[size].append(model.name)
        liners = {model.liner for model, _ in models}
        liner = f" in models with {liners.pop().value} liner" if len(liners) == 1 and Liner.OTHER not in liners else ""
        return listed([_size(size, liner, sorted(names)) for size, names in sorted(alike.items())], "or")


class _Lines(_Pool):
    """Each player's line."""

    def __init__(self, solved: Solved, day: date) -> None:
        super().__init__(solved)
        self.day = day

    @cached_property
    def free(self) -> Counter[Group]:
        """How many of each size nobody gets and nobody wants as a spare."""
        left = [offer for offer in self.room.offers if offer.only_for is None and offer.id not in self.goes_out]
        return Counter(offer.group for offer in left) - Counter(self.solved.allocation.spares)

    def line(self, entrant: Entrant) -> Line:
        """What the plan says of a player."""
        outcome = self.solved.outcome(entrant)
        if outcome is not PlanOutcome.PLANNED:
            return Line(entrant.id, outcome, self._without(entrant, outcome))
        piece = self.pieces[self.solved.allocation.items[entrant.id]]
        chances = self.solved.chances[entrant.id]
        chosen = chances.of(piece.group)
        said = [self._size(piece, chosen, chances), self._last(entrant, piece), self._notice(entrant, piece)]
        because = " ".join(sentence for sentence in said if sentence)
        return Line(entrant.id, outcome, because, piece.id, piece.size, chosen.likelihood)

    def _size(self, piece: Piece, chosen: Candidate, chances: Chances) -> str:
        model = self.room.models[piece.model_id]
        if chosen.likelihood is Likelihood.LIKELY:
            return f"Size {piece.size} of {model.name}: likely."
        possible = chances.by_model[model.id]
        others = [each.size for each in possible if each is not chosen]
        if not others:
            return f"Size {piece.size} of {model.name}: at the edge of what the chart gives, so it may not fit."
        tried = f"Between size {piece.size} and {listed(others, 'and')} of {model.name}: try both."
        return f"{tried} {self._likelier(chosen, possible[0], model)}".strip()

    def _likelier(self, chosen: Candidate, best: Candidate, model: Model) -> str:
        """Why it is not the size that is the most probable of the model."""
        group = (model.id, label_key(best.size))
        if best.probability <= chosen.probability or self.free[group]:
            return ""
        if not self.offered[group]:
            return f"Size {best.size} is likelier, and none of it may go out now."
        return f"Size {best.size} is likelier: what there is of it goes to others or is kept back as a spare."

    def _last(self, entrant: Entrant, piece: Piece) -> str:
        """What became of the one that the player had before."""
        if entrant.last is None or (entrant.worn and entrant.worn.item_id == entrant.last):
            return ""
        if entrant.last == piece.id:
            return "The same that the player had before."
        last = self.pieces.get(entrant.last)
        if last is None:
            return "The one before is no longer in the club's use."
        return f"The one before, {last.label}: {self._why_not(last, entrant)}"

    def _why_not(self, last: Piece, entrant: Entrant) -> str:
        if last.against:
            return last.because
        if last.only_for not in {None, entrant.id}:
            return "set aside for another player."
        if last.group not in self.solved.chances[entrant.id].groups:
            return "its size is no longer likely."
        return "it goes to another player." if last.id in self.goes_out else "another suits the whole better."

    def _notice(self, entrant: Entrant, piece: Piece) -> str:
        """What it replaces, whom it was kept for, and whether the measures are of this season."""
        said = []
        if piece.only_for == entrant.id:
            said.append("It is kept for this player already.")
        if entrant.worn:
            said.append(f"In place of {entrant.worn.label}: {entrant.worn.because}")
        if entrant.measured_on and self.day - entrant.measured_on > MEASURED_LONG_AGO:
            said.append(f"Measured on {entrant.measured_on}: measure again first.")
        return " ".join(said)

    def _without(self, entrant: Entrant, outcome: PlanOutcome) -> str:
        """Why a player is given nothing."""
        kind = KINDS[self.room.kind]
        match outcome:
            case PlanOutcome.HAS_ONE:
                return f"Has one already: {entrant.worn.label}." if entrant.worn else ""
            case PlanOutcome.NO_MEASUREMENT:
                missing = [MEASURES[each] for each in sorted(self.solved.chances[entrant.id].missing)]
                return f"Not measured: no {listed(missing, 'and')} is recorded. Measure first."
            case PlanOutcome.NO_CHART:
                return f"The club has no {kind} whose maker's size chart is entered: enter it from the booklet."
            case PlanOutcome.NO_SIZE:
                return f"No size of the club's {kind} goes with the measures: measure again, or look at the charts."
            case PlanOutcome.OTHER_LEVEL:
                return _other_level(entrant)
        wanted = self.wanted(entrant)
        end = "none is left" if any(self.offered[group] for group in wanted) else "none may go out now"
        return f"Needs {self.sizes(wanted)}: {end}."


class _Shortages(_Pool):
    """What there is too little of."""

    def players(self) -> Iterator[Short]:
        """Those left without, together where they need the same sizes; most of them first."""
        left = [each for each in self.solved.entrants if self.solved.outcome(each) is PlanOutcome.SHORT]
        needs = Counter(self.wanted(each) for each in left)
        for groups, count in sorted(needs.items(), key=lambda need: (-need[1], need[0])):
            elsewhere = self._elsewhere(groups)
            more = "".join(f"; {words}" for words in elsewhere.values())
            counts = {code: self._kept_away(groups)[code] for code in elsewhere}
            yield Short(count, groups, counts, f"{count} short of {self.sizes(groups)}{more}.")

    def spares(self) -> Iterator[Short]:
        """Sizes of which fewer stay in the room than are wanted."""
        for group, wanted in sorted(self.solved.aims.spares.items()):
            kept = self.solved.allocation.spares.get(group, 0)
            if kept < wanted:
                words = f"Spares of {self.sizes([group])}: {kept} of {wanted} wanted."
                yield Short(wanted - kept, [group], {}, words, for_spares=True)

    def charts(self) -> Iterator[str]:
        """Models that are left out because nobody has entered their chart."""
        held = Counter(piece.model_id for piece in self.room.pieces)
        for model in sorted(self.room.models.values(), key=lambda each: (each.name, each.id.int)):
            if held[model.id] and not model.sizing:
                count = f"{held[model.id]} of {model.name} cannot be planned"
                yield f"{count}: no size chart is entered. Enter it from the booklet."

    @cached_property
    def _away(self) -> Mapping[Group, Counter[str]]:
        """How many of each size may not go out, by what keeps them away."""
        found: dict[Group, Counter[str]] = defaultdict(Counter)
        for piece in self.room.pieces:
            if away := _away(piece):
                found[piece.group][away] += 1
        return found

    def _kept_away(self, groups: Iterable[Group]) -> Counter[str]:
        return sum((self._away[group] for group in groups if group in self._away), Counter())

    def _elsewhere(self, groups: Iterable[Group]) -> dict[str, str]:
        return {
            code: f"{count} more {ELSEWHERE.get(code) or OTHERWISE % code.replace('_', ' ')}"
            for code, count in sorted(self._kept_away(groups).items(), key=lambda each: (-each[1], each[0]))
        }


def listed(words: Sequence[str], last: str) -> str:
    """Words one after the other: `a, b or c`."""
    return f"{', '.join(words[:-1])} {last} {words[-1]}" if len(words) > 1 else "".join(words)


def _size(size: str, liner: str, names: Sequence[str]) -> str:
    return f"size {size}{liner} ({', '.join(names)})" if liner else f"size {size} of {listed(names, 'or')}"


def _away(piece: Piece) -> str:
    """What keeps a piece from those who need its size."""
    return piece.against or (SET_ASIDE if piece.only_for else "")


def _other_level(entrant: Entrant) -> str:
    if not entrant.level:
        return "What is of the size is made for a level of play, and the team's level is not entered."
    return f"What is of the size is not made for this level of play ({entrant.level}), as its maker states it."
