"""Who gets what: the best plan for the players and the gear of one club and one kind, exactly.

Hard rules decide which pairs there are; weights, which are data, decide among them. As many players are served as can
be: leaving one without costs more than everything that the wishes can add up to.
"""

from collections import Counter
from collections.abc import Iterable

from fitting.domain.board import Board
from fitting.domain.by_sizes import cheapest_by_sizes
from fitting.domain.matching import Solution, cheapest, is_small
from fitting.domain.pools import USUAL, Aims, Allocation, Offer, Wearer, Weights, aims_of

# Up to so many pairs are written out one by one; where more are possible, sizes stand between players and items.
MOST_PAIRS = 1_000_000


def allocate(
    wearers: Iterable[Wearer], offers: Iterable[Offer], weights: Weights = USUAL, aims: Aims | None = None
) -> Allocation:
    """The plan that serves as many as can be and, of those, costs least; the order of what is given never matters.

    With `aims` given, one more item never makes it worse; without, they are those of the offers.

    Raises:
        ValueError: A weight is out of bounds.
        InvalidInputError: There are more players and sizes than are solved in a measured time.
    """
    board = board_of(wearers, offers, weights, aims)
    few = is_small(board.rows, len(board.gear)) or board.count_pairs() <= MOST_PAIRS
    return _in_ids(board, cheapest(board.problem()) if few else cheapest_by_sizes(board))


def board_of(
    wearers: Iterable[Wearer], offers: Iterable[Offer], weights: Weights = USUAL, aims: Aims | None = None
) -> Board:
    """The pool in order, not yet solved; ValueError for a weight that is out of bounds."""
    if faults := weights.faults():
        raise ValueError("; ".join(f"{name}: {reason}" for name, reason in faults))
    gear = sorted(offers, key=_in_order)
    players = sorted(wearers, key=lambda wearer: wearer.id.int)
    return Board(players, gear, weights, aims or aims_of(gear, weights))


def _in_ids(board: Board, solved: Solution) -> Allocation:
    """What was found, said in ids."""
    count = len(board.players)
    served = {
        player.id: board.gear[column].id
        for player, column in zip(board.players, solved.columns[:count], strict=True)
        if column is not None
    }
    without = [player.id for player in board.players if player.id not in served]
    kept = zip(board.spares, solved.columns[count:], strict=True)
    return Allocation(
        items=served,
        without=without,
        spares=Counter(group for group, column in kept if column is not None),
        cost=solved.cost - board.left_out * len(without),
    )


def _in_order(offer: Offer) -> tuple[bool, int, str, int]:
    """Free ones by model and size, then those for one player alone; the id decides last."""
    return (offer.only_for is not None, offer.group[0].int, offer.group[1], offer.id.int)
