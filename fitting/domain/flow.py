"""The cheapest flow through a network, exactly: solved as a linear programme, and proven in whole numbers.

Loads numpy and scipy, which takes more than a second: `planning` loads it when the first plan is made.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

Numbers = NDArray[np.int64]

# The node into which everything flows in the end.
SINK = -1


@dataclass(frozen=True)
class Arcs:
    """From which node to which, at what cost for each unit, and how many at most: four arrays of whole numbers."""

    tails: Numbers
    heads: Numbers
    costs: Numbers
    most: Numbers

    def __len__(self) -> int:
        """How many."""
        return len(self.costs)

    @classmethod
    def joined(cls, parts: Sequence["Arcs"]) -> "Arcs":
        """All of them, in this order."""
        columns = ((part.tails, part.heads, part.costs, part.most) for part in parts)
        return cls(*(np.concatenate(column) for column in zip(*columns, strict=True)))


@dataclass(frozen=True)
class Network:
    """Nodes are counted from 0; `supply` is how much begins in each, and all of it goes to the sink."""

    arcs: Arcs
    supply: Numbers


def cheapest_flow(network: Network) -> Numbers:
    """How much goes through each arc, so that all of it costs the least; the same network gives the same answer.

    Raises:
        ArithmeticError: The solver's answer could not be proven to be the best.
    """
    arcs = network.arcs
    if not len(arcs):
        return arcs.costs
    bounds = np.stack([np.zeros(len(arcs)), arcs.most], axis=1)
    # The simplex method ends in a corner, and the corners of a network are whole numbers.
    found = linprog(arcs.costs, A_eq=_balance(network), b_eq=network.supply, bounds=bounds, method="highs-ds")
    if found.x is None:
        raise ArithmeticError(f"no flow was found: {found.message}")
    flow: Numbers = np.rint(found.x).astype(np.int64)
    if not is_best(network, flow, np.rint(found.eqlin.marginals).astype(np.int64)):
        raise ArithmeticError("the flow that was found could not be proven to be the cheapest")
    return flow


def is_best(network: Network, flow: Numbers, prices: Numbers) -> bool:
    """Whether prices of the nodes prove that no flow is cheaper, in whole numbers: nothing is rounded here.

    An arc that gains nothing by the prices of its ends is empty, one that gains is full (complementary slackness).
    """
    arcs = network.arcs
    at = np.append(prices, 0)  # the sink's own price, at its index -1
    gains = at[arcs.tails] - at[arcs.heads] - arcs.costs
    balanced = np.array_equal(_balance(network) @ flow, network.supply)
    within = bool(np.all((flow >= 0) & (flow <= arcs.most)))
    tight = bool(np.all(flow[gains < 0] == 0) and np.all(flow[gains > 0] == arcs.most[gains > 0]))
    return balanced and within and tight


def _balance(network: Network) -> csr_matrix:
    """What leaves each node less what comes in, by arcs; the sink has no row."""
    arcs, numbers = network.arcs, np.arange(len(network.arcs))
    onward = arcs.heads != SINK
    rows = np.concatenate([arcs.tails, arcs.heads[onward]])
    signs = np.concatenate([np.ones(len(arcs), dtype=np.int64), np.full(int(onward.sum()), -1, dtype=np.int64)])
    shape = (len(network.supply), len(arcs))
    return csr_matrix((signs, (rows, np.concatenate([numbers, numbers[onward]]))), shape=shape)
