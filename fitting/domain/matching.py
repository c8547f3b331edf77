"""The assignment problem, exactly: rows get columns at the least cost, or stay without at a price of their own.

Loads numpy and scipy, which takes more than a second: `planning` loads it when the first plan is made.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

Numbers = NDArray[np.int64]

# Up to here the whole matrix is written out: 8 MB. A club's roster lies far below, an organisation in one pool above.
MOST_DENSE_CELLS = 1_000_000
# Sums of whole numbers below this are exact in a float64, in which both solvers reckon.
MOST_EXACT = 2**53


@dataclass(frozen=True)
class Pairs:
    """Which rows may have which columns, and at what cost: three arrays of one length, whole numbers from 0 up."""

    rows: Numbers
    columns: Numbers
    costs: Numbers

    @classmethod
    def joined(cls, parts: Sequence["Pairs"]) -> "Pairs":
        """All of them."""
        if not parts:
            return nothing()
        return cls(
            np.concatenate([part.rows for part in parts]),
            np.concatenate([part.columns for part in parts]),
            np.concatenate([part.costs for part in parts]),
        )


@dataclass(frozen=True)
class Problem:
    """`without` is what each row costs that gets no column; no pair stands twice."""

    pairs: Pairs
    columns: int
    without: Numbers

    @property
    def rows(self) -> int:
        """How many rows."""
        return len(self.without)

    def with_ways_out(self) -> Pairs:
        """The pairs, and for each row a column of its own behind the others that stands for getting none."""
        own = np.arange(self.rows, dtype=np.int64)
        return Pairs.joined([self.pairs, Pairs(own, self.columns + own, self.without)])


@dataclass(frozen=True)
class Solution:
    """The column of each row, None for none, and what all of it costs."""

    columns: Sequence[int | None]
    cost: int


def nothing() -> Pairs:
    """No pair at all."""
    empty = np.zeros(0, dtype=np.int64)
    return Pairs(empty, empty, empty)


def is_small(rows: int, columns: int) -> bool:
    """Whether the whole matrix of so many is written out."""
    return rows * (columns + rows) <= MOST_DENSE_CELLS


def cheapest(problem: Problem) -> Solution:
    """For each row its column, or None, so that the cost of all is the least.

    The same arrays give the same answer; which of several equally cheap ones it is depends on their order alone.

    Raises:
        ValueError: The costs are so large that their sums would not be exact.
    """
    if not problem.rows:
        return Solution([], 0)
    _refuse_inexact(problem)
    is_small = problem.rows * (problem.columns + problem.rows) <= MOST_DENSE_CELLS
    return by_full_matrix(problem) if is_small else by_sparse_matrix(problem)


def by_full_matrix(problem: Problem) -> Solution:
    """The same by the solver for full matrices."""
    matrix = full(problem)
    rows, columns = linear_sum_assignment(matrix)
    return _solution(problem, columns, int(matrix[rows, columns].sum()))


def by_sparse_matrix(problem: Problem) -> Solution:
    """The same by the solver for sparse matrices."""
    matrix = sparse(problem)
    rows, columns = min_weight_full_bipartite_matching(matrix)
    return _solution(problem, columns, int(matrix[rows, columns].sum()) - problem.rows)


def full(problem: Problem) -> NDArray[np.float64]:
    """The matrix as the full solver takes it: what may not be is infinitely dear."""
    pairs = problem.with_ways_out()
    matrix = np.full((problem.rows, problem.columns + problem.rows), np.inf)
    matrix[pairs.rows, pairs.columns] = pairs.costs
    return matrix


def sparse(problem: Problem) -> csr_matrix:
    """The matrix as the sparse solver takes it: one more on every pair, for it takes a zero for no pair."""
    pairs = problem.with_ways_out()
    shape = (problem.rows, problem.columns + problem.rows)
    return csr_matrix(((pairs.costs + 1).astype(np.float64), (pairs.rows, pairs.columns)), shape=shape)


def _solution(problem: Problem, columns: Numbers, cost: int) -> Solution:
    return Solution([column if column < problem.columns else None for column in columns.tolist()], cost)


def _refuse_inexact(problem: Problem) -> None:
    """Along any path of the solvers no more is added up than every row at the dearest cost."""
    dearest = max(int(problem.without.max()), int(problem.pairs.costs.max(initial=0))) + 1
    if dearest * problem.rows >= MOST_EXACT:
        raise ValueError(f"{problem.rows} rows at such costs cannot be added up exactly")
