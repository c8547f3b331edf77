"""A large pool, solved with the sizes of its models between players and items: exactly as good, and far smaller.

What a player with an item costs is the doubt about the size, plus the item's age, plus the change from the last item.
All items of one size are therefore alike to a player but for their age, which is the same to everybody, and but for
the player's own last one: instead of every pair there are an arc from each player to each size, one from each size to
each of its items, and one from each player to the last item.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from fitting.domain.board import NEVER, Board
from fitting.domain.flow import SINK, Arcs, Network, Numbers, cheapest_flow
from fitting.domain.matching import Solution
from fitting.domain.pools import SCALE
from gearlife.domain.errors import InvalidInputError

# Sizes that are possible, over all players: ten thousand with 64 each were planned in 28 s and 0.9 GB, and beyond it
# grows faster than the numbers do.
MOST_CHOICES = 640_000
TOO_MANY = (
    "{players} players with all the sizes that are possible for them are too many for one plan. "
    "Plan by team: choose a team instead of the club."
)


def cheapest_by_sizes(board: Board) -> Solution:
    """The same as `matching.cheapest` of the board's problem, and as cheap; of equally cheap ones it may be another.

    Raises:
        InvalidInputError: There are more sizes for more players than are solved in a measured time.
    """
    if len(board.possible) > MOST_CHOICES:
        words = TOO_MANY.format(players=len(board.players))
        raise InvalidInputError.at("/team", words, "too_large")
    arcs = _ByKind(board)
    network = arcs.network()
    flow = cheapest_flow(network)
    return Solution(arcs.columns(flow), int(flow @ network.arcs.costs))


@dataclass
class _Table:
    """Arcs as they are put down."""

    tails: list[int] = field(default_factory=list)
    heads: list[int] = field(default_factory=list)
    costs: list[int] = field(default_factory=list)
    most: list[int] = field(default_factory=list)

    def add(self, tail: int, head: int, cost: int, most: int = 1) -> None:
        """One arc."""
        self.tails.append(tail)
        self.heads.append(head)
        self.costs.append(cost)
        self.most.append(most)

    def arcs(self) -> Arcs:
        """All of them."""
        each = (self.tails, self.heads, self.costs, self.most)
        return Arcs(*(np.array(column, dtype=np.int64) for column in each))

    def used(self, flow: Numbers) -> Iterator[tuple[int, int]]:
        """The ends of the arcs through which something goes."""
        return ((self.tails[n], self.heads[n]) for n in np.flatnonzero(flow).tolist())


class _ByKind:
    """The network of a board. Its nodes in order: players, sizes, the spares of each size, items."""

    def __init__(self, board: Board) -> None:
        """Put down every arc."""
        self.board = board
        self.numbers = {group: number for number, group in enumerate(board.runs)}
        self.sizes = len(board.players)
        self.spares = self.sizes + len(board.runs)
        self.items = self.spares + len(board.runs)
        self.to_size, self.to_item, self.within, self.ends = _Table(), _Table(), _Table(), _Table()
        self._of_players()
        self._of_sizes()

    def network(self) -> Network:
        """All of it."""
        board = self.board
        supply = np.zeros(self.items + len(board.gear), dtype=np.int64)
        supply[: len(board.players)] = 1
        for group in board.spares:
            supply[self.spares + self.numbers[group]] += 1
        return Network(Arcs.joined([table.arcs() for table in self._tables()]), supply)

    def columns(self, flow: Numbers) -> Sequence[int | None]:
        """The column of each row: within a size the first player gets the first item, for they are alike."""
        board, parts = self.board, self._parts(flow)
        columns: list[int | None] = [None] * board.rows
        for player, item in self.to_item.used(parts[1]):
            columns[player] = item - self.items
        going: dict[int, list[int]] = {}
        for giver, item in self.within.used(parts[2]):
            going.setdefault(giver, []).append(item - self.items)
        waiting = {giver: iter(sorted(items)) for giver, items in going.items()}
        for player, size in sorted(self.to_size.used(parts[0])):
            columns[player] = next(waiting[size])
        for row, group in enumerate(board.spares, start=len(board.players)):
            columns[row] = next(waiting.get(self.spares + self.numbers[group], iter(())), None)
        return columns

    def _tables(self) -> list[_Table]:
        return [self.to_size, self.to_item, self.within, self.ends]

    def _parts(self, flow: Numbers) -> list[Numbers]:
        """What goes through the arcs of each table."""
        return np.split(flow, np.cumsum([len(table.costs) for table in self._tables()])[:-1])

    def _of_players(self) -> None:
        """To each possible size, to the last item and to those for the player alone, and to none at all."""
        board, lasts, ages = self.board, self.board.lasts().tolist(), self.board.ages().tolist()
        keep = SCALE * board.weights.keep
        for row, group, doubt in board.possible:
            last, run = lasts[row], board.runs.get(group)
            change = doubt if last == NEVER else doubt + keep
            if run:
                self.to_size.add(row, self.sizes + self.numbers[group], change)
                if run[0] <= last < run[1]:
                    self.to_item.add(row, self.items + last, doubt + ages[last])
            for column in board.only_for(row, group):
                self.to_item.add(row, self.items + column, (doubt if column == last else change) + ages[column])
        for row in range(len(board.players)):
            self.ends.add(row, SINK, board.left_out)

    def _of_sizes(self) -> None:
        """To items, for players at what their age costs and for spares at nothing; and from each item out."""
        board, ages = self.board, self.board.ages().tolist()
        for group, (first, behind) in board.runs.items():
            size, spares = self.sizes + self.numbers[group], self.spares + self.numbers[group]
            for column in range(first, behind):
                self.within.add(size, self.items + column, ages[column])
                self.within.add(spares, self.items + column, 0)
            self.ends.add(spares, SINK, SCALE * board.weights.spare, behind - first)
        for column in range(len(board.gear)):
            self.ends.add(self.items + column, SINK, 0)
