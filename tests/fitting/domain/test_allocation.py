"""The plan of one pool: against every plan there is, and what holds of all plans."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from random import Random
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitting.domain.allocation import allocate
from fitting.domain.pools import Aims, Allocation, Offer, Wearer, Weights, aims_of
from tests.fitting.domain.allocating import FIRST_DAY, GROUPS, Pool, cost_of, every_plan, may_have, pools

MEDIUM, LARGE = GROUPS[0], GROUPS[1]
NOTHING_ELSE = Weights(size=0, keep=0, age=0, spare=0, spare_percent=0)


def planned(pool: Pool) -> Allocation:
    return allocate(pool.wearers, pool.offers, pool.weights, pool.aims)


def player(number: int, last: int | None = None, **sizes: float) -> Wearer:
    """A player with sizes of one model."""
    had = None if last is None else UUID(int=last)
    return Wearer(UUID(int=number), {(MEDIUM[0], size): p for size, p in sizes.items()}, had)


def helmet(number: int, size: str = "M", made_on: date | None = FIRST_DAY, only_for: int | None = None) -> Offer:
    return Offer(UUID(int=number), (MEDIUM[0], size), made_on, None if only_for is None else UUID(int=only_for))


@given(pools())
def test_no_plan_serves_more_or_costs_less(pool: Pool) -> None:
    best = min((len(pool.wearers) - len(plan), cost_of(pool, plan)) for plan in every_plan(pool))
    plan = planned(pool)
    assert (len(plan.without), plan.cost) == best == (len(pool.wearers) - len(plan.items), cost_of(pool, plan.items))


@given(pools(most=9))
def test_the_hard_rules_are_never_broken(pool: Pool) -> None:
    wearers, offers = ({each.id: each for each in many} for many in (pool.wearers, pool.offers))
    plan = planned(pool)
    assert all(may_have(wearers[who], offers[what]) for who, what in plan.items.items())  # type: ignore[arg-type] # by id
    assert len(set(plan.items.values())) == len(plan.items)
    assert {*plan.items, *plan.without} == set(wearers)


@given(pools(most=9))
def test_nobody_is_left_while_a_plausible_item_is_free(pool: Pool) -> None:
    plan = planned(pool)
    free = [offer for offer in pool.offers if offer.id not in plan.items.values()]
    left = [wearer for wearer in pool.wearers if wearer.id in plan.without]
    assert [(who.id, what.id) for who in left for what in free if may_have(who, what)] == []


@given(pools(most=9), st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_never_matters(pool: Pool, random: Random) -> None:
    def shuffled(rows: Sequence[Wearer] | Sequence[Offer]) -> list[object]:
        return random.sample(list(rows), len(rows))

    turned = [replace(each, sizes=dict(reversed([*each.sizes.items()]))) for each in pool.wearers]
    again = allocate(shuffled(turned), shuffled(pool.offers), pool.weights, pool.aims)  # type: ignore[arg-type] # of one kind
    assert again == planned(pool)


@given(pools(most=7), pools(most=1))
def test_one_more_item_never_makes_the_plan_worse(pool: Pool, other: Pool) -> None:
    more = [replace(offer, id=UUID(int=777), only_for=None) for offer in other.offers]
    # Spares are wanted of what there was before: of one size more of them may be asked than there then were.
    known = {offer.group for offer in pool.offers if offer.only_for is None}
    wanted = dict.fromkeys(known & pool.aims.spares.keys(), 1)
    before = replace(pool, aims=replace(pool.aims, spares=wanted))
    plan, later = planned(before), planned(replace(before, offers=[*pool.offers, *more]))
    assert (len(later.without), later.cost) <= (len(plan.without), plan.cost)


@given(pools(most=7), pools(most=1))
def test_with_aims_of_its_own_one_more_item_never_leaves_more_players(pool: Pool, other: Pool) -> None:
    plan = allocate(pool.wearers, pool.offers, pool.weights)
    more = [replace(offer, id=UUID(int=777), only_for=None) for offer in other.offers]
    later = allocate(pool.wearers, [*pool.offers, *more], pool.weights)
    assert len(later.without) <= len(plan.without)


@settings(max_examples=20)
@given(st.integers(0, 2**32))
def test_a_large_pool_is_solved_the_same_by_both_solvers(seed: int) -> None:
    random = Random(seed)
    wearers = [player(n, M=random.random(), L=random.random()) for n in range(60)]
    offers = [helmet(1000 + n, random.choice("ML"), date(2016 + n % 9, 1, 1)) for n in range(55)]
    full = allocate(wearers, offers)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fitting.domain.matching.MOST_DENSE_CELLS", 0)
        sparse = allocate(wearers, offers)
    assert (sparse.cost, len(sparse.without)) == (full.cost, len(full.without))


def test_the_surer_size_goes_to_the_player() -> None:
    plan = allocate([player(1, M=0.3, L=0.7)], [helmet(10, "M"), helmet(11, "L")], Weights(spare_percent=0))
    assert plan.items == {UUID(int=1): UUID(int=11)}


def test_the_item_of_last_season_is_kept_unless_its_size_is_too_doubtful() -> None:
    room = [helmet(10, "M"), helmet(11, "L")]
    wishes = Weights(size=100, keep=40, age=0, spare_percent=0)
    assert allocate([player(1, last=10, M=0.4, L=0.6)], room, wishes).items[UUID(int=1)] == UUID(int=10)
    assert allocate([player(1, last=10, M=0.2, L=0.8)], room, wishes).items[UUID(int=1)] == UUID(int=11)


def test_gear_of_middle_age_goes_out_before_the_newest_and_the_oldest() -> None:
    room = [
        helmet(10, made_on=date(2016, 1, 1)),
        helmet(11, made_on=date(2021, 1, 1)),
        helmet(12, made_on=date(2026, 1, 1)),
    ]
    plan = allocate([player(1, M=1.0)], room, replace(NOTHING_ELSE, age=10))
    assert plan.items == {UUID(int=1): UUID(int=11)}


def test_an_item_without_a_day_of_making_counts_as_the_farthest_from_the_middle() -> None:
    room = [helmet(9, made_on=None), helmet(10, made_on=date(2016, 1, 1)), helmet(11, made_on=date(2017, 1, 1))]
    plan = allocate([player(1, M=1.0)], room, replace(NOTHING_ELSE, age=10), Aims(date(2017, 1, 1).toordinal(), 4000))
    assert plan.items == {UUID(int=1): UUID(int=11)}


def test_a_spare_of_each_size_is_kept_where_the_players_can_do_without() -> None:
    wishes = replace(NOTHING_ELSE, size=10, spare=30, spare_percent=10)
    room = [helmet(10, "M"), helmet(11, "L"), helmet(12, "L")]
    plan = allocate([player(1, M=0.6, L=0.4)], room, wishes)
    assert plan.items[UUID(int=1)] in {UUID(int=11), UUID(int=12)}
    assert plan.spares == {MEDIUM: 1, LARGE: 1}


def test_no_player_is_left_for_the_sake_of_a_spare() -> None:
    plan = allocate([player(1, M=0.1)], [helmet(10)], replace(NOTHING_ELSE, size=100, spare=100, spare_percent=50))
    assert plan.items == {UUID(int=1): UUID(int=10)}
    assert plan.spares == {}


def test_what_was_made_for_one_player_goes_to_nobody_else() -> None:
    room = [helmet(10, only_for=2)]
    assert allocate([player(1, M=1.0)], room).without == [UUID(int=1)]
    assert allocate([player(1, M=1.0), player(2, M=0.5)], room).items == {UUID(int=2): UUID(int=10)}


def test_a_size_below_one_in_ten_is_no_size() -> None:
    assert allocate([player(1, M=0.09)], [helmet(10)]).without == [UUID(int=1)]


def test_the_aims_are_the_middle_of_the_gears_age_and_a_tenth_of_each_size() -> None:
    room = [helmet(n, made_on=date(2020, 1, 1 + n)) for n in range(1, 12)] + [
        helmet(20, "L", None),
        helmet(21, only_for=1),
    ]
    aims = aims_of(room, Weights())
    assert aims.spares == {MEDIUM: 2, LARGE: 1}
    assert aims_of([], Weights()) == Aims(spares={})
    assert aims_of([helmet(1, made_on=date(2020, 1, 1)), helmet(2, made_on=date(2020, 1, 11))], Weights()).span == 5


@pytest.mark.parametrize("name", ["size", "keep", "age", "spare", "spare_percent"])
def test_a_weight_out_of_bounds_is_refused_by_its_name(name: str) -> None:
    for value in (-1, 101):
        with pytest.raises(ValueError, match=name):
            allocate([player(1, M=1.0)], [helmet(10)], replace(Weights(), **{name: value}))
