"""A count of parts: what a delivery, a use and a count make of it, in any order of arrival."""

from datetime import UTC, datetime, timedelta
from random import Random
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.part_stock import Move, OnHand, StockAct, on_hand

AT = datetime(2026, 9, 1, 16, tzinfo=UTC)


def move(act: str, count: int, hour: int, number: int = 0) -> Move:
    return Move(StockAct(act), count, AT + timedelta(hours=hour), UUID(int=number))


@st.composite
def moves(draw: st.DrawFn) -> list[Move]:
    acts = st.sampled_from([act.value for act in StockAct])
    return [
        move(draw(acts), draw(st.integers(0, 9)), draw(st.integers(0, 6)), n) for n in range(draw(st.integers(0, 9)))
    ]


@given(moves(), st.randoms())
def test_any_order_of_arrival_gives_the_same_count(history: list[Move], chance: Random) -> None:
    shuffled = list(history)
    chance.shuffle(shuffled)
    assert on_hand(shuffled) == on_hand(history)


@given(moves())
def test_it_is_never_below_nothing_and_what_is_missing_is_said(history: list[Move]) -> None:
    """Against a balance that may go below nothing: it does so exactly where the count is to be made again."""
    left = on_hand(history)
    balance, known, short = 0, False, False
    for each in sorted(history, key=lambda each: (each.at, each.id)):
        known = known or each.act is not StockAct.USED
        if each.act is StockAct.COUNTED:
            balance, short = each.count, False
        elif known:
            balance += each.count if each.act is StockAct.DELIVERED else -each.count
            short, balance = short or balance < 0, max(balance, 0)
    assert (left is not None) is known
    if left:
        assert (left.count, left.count_again) == (balance, short)


def test_a_delivery_adds_a_use_takes_and_a_count_says() -> None:
    assert on_hand([move("delivered", 10, 0), move("used", 2, 1)]) == OnHand(8)
    counted = on_hand([move("delivered", 10, 0), move("used", 2, 1), move("counted", 7, 2)])
    assert counted == OnHand(7, counted_at=AT + timedelta(hours=2))


def test_what_was_used_before_the_count_is_in_the_count_already() -> None:
    assert on_hand([move("counted", 7, 5), move("used", 2, 1)]) == OnHand(7, counted_at=AT + timedelta(hours=5))


def test_of_what_was_never_counted_nothing_is_known() -> None:
    assert on_hand([move("used", 2, 1)]) is None
