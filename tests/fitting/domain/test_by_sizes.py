"""Large pools, solved by sizes: as good as every pair written out, as every plan tried, and as networkx's matching."""

from collections import Counter
from dataclasses import replace
from datetime import date
from random import Random
from uuid import UUID

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitting.domain import allocation
from fitting.domain.allocation import allocate, board_of
from fitting.domain.by_sizes import cheapest_by_sizes
from fitting.domain.matching import cheapest
from fitting.domain.pools import Allocation, Offer, Wearer
from gearlife.domain.errors import InvalidInputError
from tests.fitting.domain.allocating import Pool, cost_of, every_plan, may_have, pools


def planned(pool: Pool, wearers: list[Wearer] | None = None, offers: list[Offer] | None = None) -> Allocation:
    """By sizes, however small the pool is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fitting.domain.matching.MOST_DENSE_CELLS", -1)
        patch.setattr(allocation, "MOST_PAIRS", -1)
        return allocate(wearers or pool.wearers, offers or pool.offers, pool.weights, pool.aims)


def alike(pool: Pool) -> Pool:
    """The same with hardly any difference between players or items: many plans cost the same."""
    wearers = [replace(each, sizes=dict.fromkeys(each.sizes, 0.5)) for each in pool.wearers]
    return replace(pool, wearers=wearers, offers=[replace(each, made_on=None) for each in pool.offers])


@given(pools())
def test_no_plan_serves_more_or_costs_less(pool: Pool) -> None:
    best = min((len(pool.wearers) - len(plan), cost_of(pool, plan)) for plan in every_plan(pool))
    plan = planned(pool)
    assert (len(plan.without), plan.cost) == best == (len(pool.wearers) - len(plan.items), cost_of(pool, plan.items))


@given(st.one_of(pools(most=12), pools(most=12).map(alike)))
def test_a_plan_is_as_good_as_with_every_pair_written_out_and_keeps_the_hard_rules(pool: Pool) -> None:
    wearers, offers = ({each.id: each for each in many} for many in (pool.wearers, pool.offers))
    plan, full = planned(pool), allocate(pool.wearers, pool.offers, pool.weights, pool.aims)
    assert (
        (len(plan.without), plan.cost)
        == (len(full.without), full.cost)
        == (len(full.without), cost_of(pool, plan.items))
    )
    assert all(may_have(wearers[who], offers[what]) for who, what in plan.items.items())  # type: ignore[arg-type] # by id
    assert len(set(plan.items.values())) == len(plan.items)
    assert {*plan.items, *plan.without} == set(wearers)
    free = Counter(each.group for each in pool.offers if each.only_for is None and each.id not in plan.items.values())
    assert all(count <= free[group] for group, count in plan.spares.items())


@given(pools(most=7).map(alike))
def test_a_plan_is_as_good_as_networkx_finds(pool: Pool) -> None:
    """networkx 3.6.1, `min_weight_matching`: Edmonds' blossoms, on the pairs written out."""
    board = board_of(pool.wearers, pool.offers, pool.weights, pool.aims)
    graph, problem = networkx.Graph(), board.problem()
    graph.add_weighted_edges_from((("row", n), ("none", n), int(cost)) for n, cost in enumerate(problem.without))
    pairs = zip(problem.pairs.rows.tolist(), problem.pairs.columns.tolist(), problem.pairs.costs.tolist(), strict=True)
    graph.add_weighted_edges_from((("row", row), ("column", column), cost) for row, column, cost in pairs)
    matching = networkx.min_weight_matching(graph)
    assert cheapest_by_sizes(board).cost == sum(graph.edges[pair]["weight"] for pair in matching)


@given(pools(most=9).map(alike), st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_never_matters(pool: Pool, random: Random) -> None:
    wearers, offers = list(pool.wearers), list(pool.offers)
    again = planned(pool, random.sample(wearers, len(wearers)), random.sample(offers, len(offers)))
    assert again == planned(pool)


def a_club(players: int, items: int, seed: int) -> tuple[list[Wearer], list[Offer]]:
    """Every item is possible for every player."""
    random = Random(seed)
    groups = [(UUID(int=1 + model), size) for model in range(3) for size in "SML"]
    offers = [Offer(UUID(int=10**6 + n), random.choice(groups), date(2016 + n % 9, 1, 1)) for n in range(items)]
    last = [None, *(each.id for each in offers)]
    sizes = [{group: random.choice((0.1, 0.3, 0.6, 0.9)) for group in groups} for _ in range(players)]
    wearers = [Wearer(UUID(int=1000 + n), each, random.choice(last)) for n, each in enumerate(sizes)]
    return wearers, offers


@settings(max_examples=10)
@given(st.integers(40, 160), st.integers(30, 160), st.integers(0, 2**32))
def test_a_whole_club_is_solved_the_same_by_pairs_and_by_sizes(players: int, items: int, seed: int) -> None:
    board = board_of(*a_club(players, items, seed))
    solved = cheapest_by_sizes(board)
    assert solved.cost == cheapest(board.problem()).cost
    taken = [column for column in solved.columns if column is not None]
    assert len(set(taken)) == len(taken)


def test_a_club_in_which_everything_goes_with_everybody_is_planned_whole() -> None:
    wearers, offers = a_club(1200, 1300, seed=3)
    board = board_of(wearers, offers)
    assert board.count_pairs() == 1200 * 1300 > allocation.MOST_PAIRS
    plan = allocate(wearers, offers)
    assert plan.without == []
    assert plan.cost == cheapest(board.problem()).cost


def test_what_would_run_too_long_is_refused_with_the_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fitting.domain.by_sizes.MOST_CHOICES", 899)
    with pytest.raises(InvalidInputError) as refused:
        cheapest_by_sizes(board_of(*a_club(100, 100, seed=3)))
    assert refused.value.code == "too_large"
    assert "Plan by team" in refused.value.detail
    assert refused.value.faults[0].pointer == "/team"
