"""The solver against published optima and against another library's."""

from collections.abc import Sequence
from itertools import permutations

import networkx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitting.domain.matching import Pairs, Problem, Solution, by_full_matrix, by_sparse_matrix, cheapest

# Google OR-Tools, "Solving an Assignment Problem" (developers.google.com/optimization/assignment/assignment_example):
# five workers for four tasks, of which one stays without; the least cost is 265.
WORKERS = [
    [90, 80, 75, 70],
    [35, 85, 55, 65],
    [125, 95, 90, 95],
    [45, 110, 95, 115],
    [50, 100, 90, 100],
]
OPTIMUM = 265
# The same guide, "Linear Sum Assignment Solver": four workers for four tasks, and 265 again.
FOUR_WORKERS = [[90, 76, 75, 70], [35, 85, 55, 65], [125, 95, 90, 105], [45, 110, 95, 115]]
# What each costs who stays without: more than all tasks together.
DEAR = 10_000
SOLVERS = (cheapest, by_full_matrix, by_sparse_matrix)
Table = Sequence[Sequence[int | None]]
ENTRY = st.one_of(st.none(), st.integers(0, 30))


def problem(costs: Table, dear: int = DEAR) -> Problem:
    """A table of costs, None for what may not be."""
    known = [
        (row, column, cost) for row, line in enumerate(costs) for column, cost in enumerate(line) if cost is not None
    ]
    rows, columns, values = (np.array([pair[n] for pair in known], dtype=np.int64) for n in range(3))
    return Problem(Pairs(rows, columns, values), len(costs[0]), np.full(len(costs), dear, dtype=np.int64))


def greedy(costs: list[list[int]]) -> int:
    """Whoever comes first takes the cheapest that is left."""
    free, total = set(range(len(costs[0]))), 0
    for line in costs:
        best = min(free, key=lambda column: line[column], default=None)
        if best is not None:
            free.remove(best)
            total += line[best]
    return total


@pytest.mark.parametrize("solve", SOLVERS)
def test_the_published_examples_have_their_published_optimum(solve: object) -> None:
    assert callable(solve)
    assert solve(problem(WORKERS)).cost - DEAR == OPTIMUM
    assert solve(problem(FOUR_WORKERS)).cost == OPTIMUM
    assert greedy(WORKERS[:4]) > OPTIMUM


@pytest.mark.parametrize("solve", SOLVERS)
def test_nobody_gets_what_may_not_be_however_dear_it_is_to_stay_without(solve: object) -> None:
    assert callable(solve)
    assert solve(problem([[None, 5], [None, 3]])) == Solution([None, 1], DEAR + 3)
    assert solve(problem([[0, None], [0, None]])) in (Solution([0, None], DEAR), Solution([None, 0], DEAR))


@given(
    st.integers(1, 5).flatmap(
        lambda wide: st.lists(st.lists(ENTRY, min_size=wide, max_size=wide), min_size=1, max_size=5)
    )
)
def test_both_solvers_find_what_trying_every_way_finds(costs: Table) -> None:
    ways = [*range(len(costs[0])), *[None] * len(costs)]
    tried = (
        sum(DEAR if column is None else line[column] for line, column in zip(costs, way, strict=True))
        for way in set(permutations(ways, len(costs)))
        if all(column is None or line[column] is not None for line, column in zip(costs, way, strict=True))
    )
    least = min(tried)
    for solve in (by_full_matrix, by_sparse_matrix):
        solved = solve(problem(costs))
        assert solved.cost == least == added_up(costs, solved)


@given(
    st.integers(1, 9).flatmap(
        lambda wide: st.lists(st.lists(ENTRY, min_size=wide, max_size=wide), min_size=1, max_size=9)
    )
)
def test_both_solvers_find_what_networkx_finds(costs: Table) -> None:
    """networkx 3.6.1, `min_weight_matching`: Edmonds' blossoms. (Its bipartite one would ask the same scipy.)"""
    graph = networkx.Graph()
    for row, line in enumerate(costs):
        graph.add_edge(("row", row), ("without", row), weight=DEAR)
        graph.add_weighted_edges_from(
            (("row", row), ("column", n), cost) for n, cost in enumerate(line) if cost is not None
        )
    matching = networkx.min_weight_matching(graph)
    assert len(matching) == len(costs)
    least = sum(graph.edges[pair]["weight"] for pair in matching)
    assert by_full_matrix(problem(costs)).cost == by_sparse_matrix(problem(costs)).cost == least


def added_up(costs: Table, solved: Solution) -> int:
    """The cost of a solution from the table itself; what may not be or is taken twice has none."""
    taken = [column for column in solved.columns if column is not None]
    assert len(set(taken)) == len(taken)
    values = [DEAR if column is None else line[column] for line, column in zip(costs, solved.columns, strict=True)]
    assert None not in values
    return sum(value for value in values if value is not None)


def test_no_row_at_all_is_solved_already() -> None:
    empty = np.zeros(0, dtype=np.int64)
    assert cheapest(Problem(Pairs(empty, empty, empty), 3, empty)) == Solution([], 0)


def test_a_full_and_a_sparse_matrix_agree_where_the_size_decides_between_them(monkeypatch: pytest.MonkeyPatch) -> None:
    costs = [[(7 * row + 11 * column) % 23 for column in range(30)] for row in range(25)]
    full = cheapest(problem(costs)).cost
    monkeypatch.setattr("fitting.domain.matching.MOST_DENSE_CELLS", 0)
    assert cheapest(problem(costs)).cost == full


def test_costs_too_large_to_be_added_up_exactly_are_refused() -> None:
    with pytest.raises(ValueError, match="exactly"):
        cheapest(problem([[1, 2], [3, 4]], dear=2**52))
