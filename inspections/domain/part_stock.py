"""A club's parts, simply counted: a delivery adds, a use takes, a count says how it is."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

MOST_COUNTED = 100_000


class StockAct(StrEnum):
    """What moved a count."""

    DELIVERED = "delivered"
    COUNTED = "counted"
    USED = "used"


@dataclass(frozen=True)
class Move:
    """So many at a moment; of a count, how many there were."""

    act: StockAct
    count: int
    at: datetime
    id: UUID


@dataclass(frozen=True)
class OnHand:
    """How many there should be. `count_again`: more were used than there were, so that the count was wrong."""

    count: int = 0
    count_again: bool = False
    counted_at: datetime | None = None


def on_hand(moves: Iterable[Move]) -> OnHand | None:
    """What is left after them, in the order of their moments; None while none was ever delivered or counted."""
    left: OnHand | None = None
    for move in sorted(moves, key=lambda each: (each.at, each.id)):
        left = _after(left, move)
    return left


def _after(left: OnHand | None, move: Move) -> OnHand | None:
    if move.act is StockAct.COUNTED:
        return OnHand(move.count, counted_at=move.at)
    if move.act is StockAct.DELIVERED:
        before = left or OnHand()
        return OnHand(before.count + move.count, before.count_again, before.counted_at)
    if left is None:
        return None
    short = move.count > left.count
    return OnHand(max(left.count - move.count, 0), left.count_again or short, left.counted_at)
