"""Flows at the least cost: against networkx, and what is not the best is not taken for it."""

from types import SimpleNamespace

import networkx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitting.domain import flow
from fitting.domain.flow import SINK, Arcs, Network, cheapest_flow, is_best

# From, to (3 is the sink), cost, most: small numbers, so that there are many ties.
ARC = st.tuples(st.integers(0, 2), st.integers(0, 3), st.integers(0, 4), st.integers(0, 3))
# What it costs a unit to go to the sink straight away: any supply can.
DEAR = 50


def network(arcs: list[tuple[int, int, int, int]], supply: list[int]) -> Network:
    """Of three nodes."""
    out = [(node, 3, DEAR, sum(supply)) for node in range(3)]
    rows = [(tail, SINK if head == 3 else head, cost, most) for tail, head, cost, most in [*arcs, *out]]
    return Network(Arcs(*np.array(rows, dtype=np.int64).T), np.array(supply, dtype=np.int64))


def cost(of: Network) -> int:
    return int(cheapest_flow(of) @ of.arcs.costs)


@given(st.lists(ARC, max_size=8), st.lists(st.integers(0, 4), min_size=3, max_size=3))
def test_a_flow_costs_what_networkx_finds(arcs: list[tuple[int, int, int, int]], supply: list[int]) -> None:
    """networkx 3.6.1, `min_cost_flow` by its own simplex on whole numbers."""
    graph = networkx.MultiDiGraph()
    graph.add_nodes_from((node, {"demand": -units}) for node, units in enumerate(supply))
    graph.add_node(3, demand=sum(supply))
    for tail, head, weight, most in [*arcs, *((node, 3, DEAR, sum(supply)) for node in range(3))]:
        graph.add_edge(tail, head, weight=weight, capacity=most)
    assert cost(network(arcs, supply)) == networkx.network_simplex(graph)[0]


def test_a_flow_that_is_not_the_cheapest_is_not_proven_by_any_prices_of_the_best() -> None:
    two_ways = network([(0, 3, 1, 1), (0, 3, 2, 1)], [1, 0, 0])
    best, dearer = np.array([1, 0, 0, 0, 0]), np.array([0, 1, 0, 0, 0])
    proofs = [np.array([price, 0, 0]) for price in range(5)]
    assert any(is_best(two_ways, best, prices) for prices in proofs)
    assert not any(is_best(two_ways, dearer, prices) for prices in proofs)


def test_too_much_through_an_arc_and_what_gets_lost_are_no_flow() -> None:
    one_way = network([(0, 3, 1, 1)], [2, 0, 0])
    assert is_best(one_way, np.array([1, 1, 0, 0]), np.array([DEAR, 0, 0]))
    assert not is_best(one_way, np.array([2, 0, 0, 0]), np.array([DEAR, 0, 0]))
    assert not is_best(one_way, np.array([1, 0, 0, 0]), np.array([DEAR, 0, 0]))


def test_what_is_not_proven_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = SimpleNamespace(x=np.array([0.0, 1, 0, 0, 0]), eqlin=SimpleNamespace(marginals=np.array([1.0, 0, 0])))
    monkeypatch.setattr(flow, "linprog", lambda *_args, **_more: wrong)
    with pytest.raises(ArithmeticError, match="proven"):
        cheapest_flow(network([(0, 3, 1, 1), (0, 3, 2, 1)], [1, 0, 0]))
    monkeypatch.setattr(flow, "linprog", lambda *_args, **_more: SimpleNamespace(x=None, message="out of memory"))
    with pytest.raises(ArithmeticError, match="out of memory"):
        cheapest_flow(network([], [0, 0, 0]))
