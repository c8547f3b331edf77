"""Who gets what: the best plan for the players and the gear of one club and one kind, exactly.

Hard rules decide which pairs there are; weights, which are data, decide among them. As many players are served as can
be: leaving one without costs more than everything that the wishes can add up to.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from uuid import UUID

import numpy as np

from fitting.domain.matching import Numbers, Pairs, Problem, cheapest, nothing
from fitting.domain.pools import SCALE, USUAL, Aims, Allocation, Group, Offer, Wearer, Weights, aims_of
from fitting.domain.sizing import POSSIBLE

# From the first of a run of columns to behind its last.
Run = tuple[int, int]


def allocate(
    wearers: Iterable[Wearer], offers: Iterable[Offer], weights: Weights = USUAL, aims: Aims | None = None
) -> Allocation:
    """The plan that serves as many as can be and, of those, costs least; the order of what is given never matters.

    With `aims` given, one more item never makes it worse; without, they are those of the offers.

    Raises:
        ValueError: A weight is out of bounds, or there are more players than sums are exact for.
    """
    return board_of(wearers, offers, weights, aims).allocation()


def board_of(
    wearers: Iterable[Wearer], offers: Iterable[Offer], weights: Weights = USUAL, aims: Aims | None = None
) -> "Board":
    """The pool in order, not yet solved; ValueError for a weight that is out of bounds."""
    if faults := weights.faults():
        raise ValueError("; ".join(f"{name}: {reason}" for name, reason in faults))
    gear = sorted(offers, key=_in_order)
    players = sorted(wearers, key=lambda wearer: wearer.id.int)
    return Board(players, gear, weights, aims or aims_of(gear, weights))


class Board:
    """One pool on its way through the solver: players as rows and below them wanted spares, items as columns.

    Free items of one size of one model are one run of columns; those that may go to one player alone follow behind.
    """

    def __init__(self, players: list[Wearer], gear: list[Offer], weights: Weights, aims: Aims) -> None:
        """Find the runs, and the price of leaving a player out: more than all wishes together."""
        self.players, self.gear, self.weights, self.aims = players, gear, weights, aims
        self.runs = _runs(gear)
        self.spares = [group for group, run in self.runs.items() for _ in range(_at_most(aims.spares, group, run))]
        highest = SCALE * (weights.size + weights.keep + weights.age)
        self.left_out = 1 + highest * len(players) + SCALE * weights.spare * len(self.spares)

    def allocation(self) -> Allocation:
        """Solve it, and say it in ids."""
        solved = cheapest(self.problem())
        count = len(self.players)
        served = {
            player.id: self.gear[column].id
            for player, column in zip(self.players, solved.columns[:count], strict=True)
            if column is not None
        }
        without = [player.id for player in self.players if player.id not in served]
        kept = zip(self.spares, solved.columns[count:], strict=True)
        return Allocation(
            items=served,
            without=without,
            spares=Counter(group for group, column in kept if column is not None),
            cost=solved.cost - self.left_out * len(without),
        )

    def problem(self) -> Problem:
        """What each pair costs, and what it costs to get none."""
        without = [self.left_out] * len(self.players) + [SCALE * self.weights.spare] * len(self.spares)
        pairs = Pairs.joined([self._for_players(), self._kept_back()])
        return Problem(pairs, len(self.gear), np.array(without, dtype=np.int64))

    def _for_players(self) -> Pairs:
        """Each player with each item that is possible: what the size, the change and the item's age cost."""
        blocks = _Blocks()
        only_for = self._only_for()
        for row, player in enumerate(self.players):
            for group, probability in sorted(player.sizes.items()):
                if probability >= POSSIBLE:
                    doubt = round(SCALE * self.weights.size * (1 - min(probability, 1.0)))
                    runs = [self.runs[group]] if group in self.runs else []
                    for run in (*runs, *only_for.get((player.id, group), ())):
                        blocks.add(row, run, doubt)
        pairs = blocks.pairs()
        costs = pairs.costs + self._changes(pairs) + self._ages()[pairs.columns]
        return Pairs(pairs.rows, pairs.columns, costs)

    def _only_for(self) -> Mapping[tuple[UUID, Group], Sequence[Run]]:
        """The items that may go to one player alone, by player and size."""
        found: dict[tuple[UUID, Group], list[Run]] = {}
        for column, offer in enumerate(self.gear):
            if offer.only_for is not None:
                found.setdefault((offer.only_for, offer.group), []).append((column, column + 1))
        return found

    def _changes(self, pairs: Pairs) -> Numbers:
        """What it costs to give a player who had one another than that."""
        column_of = {offer.id: column for column, offer in enumerate(self.gear)}
        # No item has the column -1: who had one that is not here changes whatever comes; -2 had none.
        last = [-2 if p.last is None else column_of.get(p.last, -1) for p in self.players]
        had = np.array(last, dtype=np.int64)[pairs.rows]
        changes: Numbers = np.where((had == -2) | (had == pairs.columns), 0, SCALE * self.weights.keep)  # noqa: PLR2004 - said above
        return changes

    def _ages(self) -> Numbers:
        """What each item's distance from the middle of all costs, by its square; an unknown day is the farthest."""
        middle, span = self.aims.middle, self.aims.span
        away = [min(1.0, abs(o.made_on.toordinal() - middle) / span) if o.made_on else 1.0 for o in self.gear]
        costs: Numbers = np.rint(SCALE * self.weights.age * np.array(away) ** 2).astype(np.int64)
        return costs

    def _kept_back(self) -> Pairs:
        """Each spare that is wanted with each free item of its size: keeping it costs nothing."""
        blocks = _Blocks()
        for number, group in enumerate(self.spares):
            blocks.add(len(self.players) + number, self.runs[group], 0)
        return blocks.pairs()


class _Blocks:
    """Pairs of one row with a run of columns at one cost: put down as three numbers, written out all at once."""

    def __init__(self) -> None:
        self._rows: list[int] = []
        self._firsts: list[int] = []
        self._counts: list[int] = []
        self._costs: list[int] = []

    def add(self, row: int, run: Run, cost: int) -> None:
        """One row with the columns of one run."""
        self._rows.append(row)
        self._firsts.append(run[0])
        self._counts.append(run[1] - run[0])
        self._costs.append(cost)

    def pairs(self) -> Pairs:
        """Every pair."""
        if not self._rows:
            return nothing()
        counts = np.array(self._counts, dtype=np.int64)
        # Where each block begins among all pairs: what is counted on from there are its columns.
        begins = np.cumsum(counts) - counts
        columns = np.repeat(np.array(self._firsts, dtype=np.int64) - begins, counts) + np.arange(counts.sum())
        rows, costs = (np.repeat(np.array(each, dtype=np.int64), counts) for each in (self._rows, self._costs))
        return Pairs(rows, columns, costs)


def _in_order(offer: Offer) -> tuple[bool, int, str, int]:
    """Free ones by model and size, then those for one player alone; the id decides last."""
    return (offer.only_for is not None, offer.group[0].int, offer.group[1], offer.id.int)


def _runs(gear: Sequence[Offer]) -> dict[Group, Run]:
    """The columns of the free items of each size of each model."""
    runs: dict[Group, Run] = {}
    free = (column for column, offer in enumerate(gear) if offer.only_for is None)
    for group, columns in groupby(free, key=lambda column: gear[column].group):
        of_group = list(columns)
        runs[group] = (of_group[0], of_group[-1] + 1)
    return runs


def _at_most(spares: Mapping[Group, int], group: Group, run: Run) -> int:
    """How many spares are wanted of what there is."""
    return min(spares.get(group, 0), run[1] - run[0])
