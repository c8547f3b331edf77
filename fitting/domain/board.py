"""One pool in order, and what each pair of it costs: what both ways of solving it are made from."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import groupby
from uuid import UUID

import numpy as np

from fitting.domain.matching import Numbers, Pairs, Problem, nothing
from fitting.domain.pools import SCALE, Aims, Group, Offer, Wearer, Weights
from fitting.domain.sizing import POSSIBLE

# From the first of a run of columns to behind its last.
Run = tuple[int, int]
# No item has these columns: a player's last one is not here any more, or there never was one.
GONE, NEVER = -1, -2


class Board:
    """One pool: players as rows and below them wanted spares, items as columns.

    Free items of one size of one model are one run of columns; those that may go to one player alone follow behind.
    """

    def __init__(self, players: list[Wearer], gear: list[Offer], weights: Weights, aims: Aims) -> None:
        """Find the runs, and the price of leaving a player out: more than all wishes together."""
        self.players, self.gear, self.weights, self.aims = players, gear, weights, aims
        self.runs = _runs(gear)
        self.spares = [group for group, run in self.runs.items() for _ in range(_at_most(aims.spares, group, run))]
        highest = SCALE * (weights.size + weights.keep + weights.age + weights.position)
        self._kept = _kept_for(gear)
        self.left_out = 1 + highest * len(players) + SCALE * weights.spare * len(self.spares)

    @property
    def rows(self) -> int:
        """Players and the spares that are wanted."""
        return len(self.players) + len(self.spares)

    def count_pairs(self) -> int:
        """How many pairs of a player and an item are possible."""
        return len(self._blocks)

    def problem(self) -> Problem:
        """What each pair costs, and what it costs to get none."""
        without = [self.left_out] * len(self.players) + [SCALE * self.weights.spare] * len(self.spares)
        pairs = Pairs.joined([self._for_players(), self._kept_back()])
        return Problem(pairs, len(self.gear), np.array(without, dtype=np.int64))

    def _for_players(self) -> Pairs:
        """Each player with each item that is possible: what the size, the change and the item's age cost."""
        pairs = self._blocks.pairs()
        costs = pairs.costs + self._changes(pairs) + self.ages()[pairs.columns]
        return Pairs(pairs.rows, pairs.columns, costs)

    @cached_property
    def _blocks(self) -> "_Blocks":
        """Each player with each run of items that is possible, and what the doubt costs."""
        blocks = _Blocks()
        for row, group, doubt in self.possible:
            if run := self.runs.get(group):
                blocks.add(row, run, doubt)
            for column in self.only_for(row, group):
                blocks.add(row, (column, column + 1), doubt)
        return blocks

    @cached_property
    def possible(self) -> Sequence[tuple[int, Group, int]]:
        """Each player's row with each size that is possible, and what its doubt costs, and a style for others."""
        per_doubt, style = SCALE * self.weights.size, SCALE * self.weights.position
        return [
            (row, group, round(per_doubt * (1 - min(probability, 1.0))) + style * (group[0] in player.other_style))
            for row, player in enumerate(self.players)
            for group, probability in sorted(player.sizes.items())
            if probability >= POSSIBLE
        ]

    def only_for(self, row: int, group: Group) -> Sequence[int]:
        """The columns of the items of a size that may go to this player alone."""
        return self._kept.get((self.players[row].id, group), ()) if self._kept else ()

    def _changes(self, pairs: Pairs) -> Numbers:
        """What it costs to give a player who had one another than that."""
        had = self.lasts()[pairs.rows]
        changes: Numbers = np.where((had == NEVER) | (had == pairs.columns), 0, SCALE * self.weights.keep)
        return changes

    def lasts(self) -> Numbers:
        """The column of each player's last item; GONE where it is not here, NEVER for who had none."""
        column_of = {offer.id: column for column, offer in enumerate(self.gear)}
        last = [NEVER if p.last is None else column_of.get(p.last, GONE) for p in self.players]
        return np.array(last, dtype=np.int64)

    def ages(self) -> Numbers:
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

    def __len__(self) -> int:
        """How many pairs."""
        return sum(self._counts)

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


def _kept_for(gear: Sequence[Offer]) -> Mapping[tuple[UUID, Group], Sequence[int]]:
    """The columns of what may go to one player alone, by player and size."""
    found: dict[tuple[UUID, Group], list[int]] = {}
    for column, offer in enumerate(gear):
        if offer.only_for is not None:
            found.setdefault((offer.only_for, offer.group), []).append(column)
    return found


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
