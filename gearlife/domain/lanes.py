"""Words beside marks: each on a lane of its own where it would lie on another, and no leader through a word."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

GAP = 6.0
# At how many places along the line it is tried to turn the words to the other side.
PLACES = 6


@dataclass(frozen=True)
class Label:
    """Words from `left` to `right`, whose leader stands at `x`."""

    x: float
    left: float
    right: float

    @classmethod
    def beside(cls, x: float, length: float, *, edge: float, leftwards: bool = False) -> "Label":
        """On the wanted side of its leader where there is room, else on the other, else as far as there is room."""
        to_the_left, to_the_right = cls(x, x - length, x), cls(x, x, x + length)
        for label in (to_the_left, to_the_right) if leftwards else (to_the_right, to_the_left):
            if label.left >= 0 and label.right <= edge:
                return label
        return cls(x, 0.0, min(edge, length))

    def meets(self, other: "Label") -> bool:
        """Whether the two lie on each other."""
        return self.left < other.right + GAP and other.left < self.right + GAP

    def crossed_at(self, x: float) -> bool:
        """Whether a leader there goes through the words."""
        return self.left < x < self.right


def beside_all(
    wanted: Sequence[tuple[float, float]], *, edge: float, most: int
) -> tuple[list[Label], list[int | None]]:
    """Labels for leaders at (x, length of the words), and the lane of each, 0 next to the line; None: no room.

    Lives are crowded at one end or at the other, so that words go to the left of their leaders from some place on. Of
    several such places the one is taken that leaves the fewest without words, and then the fewest lanes.
    """
    tries = [_placed(wanted, edge * part / PLACES, edge, most) for part in range(PLACES + 1)]
    return min(tries, key=lambda tried: _cost(tried[1]))


def _placed(
    wanted: Sequence[tuple[float, float]], turn: float, edge: float, most: int
) -> tuple[list[Label], list[int | None]]:
    labels = [Label.beside(x, length, edge=edge, leftwards=x >= turn) for x, length in wanted]
    return labels, lanes_of(labels, most=most)


def _cost(lanes: Sequence[int | None]) -> tuple[int, int]:
    used = [lane for lane in lanes if lane is not None]
    return len(lanes) - len(used), max(used, default=0)


def lanes_of(labels: Sequence[Label], *, most: int) -> list[int | None]:
    """The lane of each label, 0 next to the line; None where none of `most` lanes has room for it."""
    placed: dict[int, tuple[Label, int]] = {}
    for at in sorted(range(len(labels)), key=lambda at: _turn(labels[at])):
        lane = next((lane for lane in range(most) if _has_room(labels[at], lane, placed.values())), None)
        if lane is not None:
            placed[at] = (labels[at], lane)
    return [placed[at][1] if at in placed else None for at in range(len(labels))]


def packed(stretches: Sequence[tuple[float, float]], *, most: int) -> list[int | None]:
    """The lane of each stretch, the first that is free at its left end; None where none of `most` is."""
    ends: list[float] = []
    lanes: list[int | None] = [None] * len(stretches)
    for at in sorted(range(len(stretches)), key=lambda at: stretches[at]):
        left, right = stretches[at]
        lane = next((lane for lane, end in enumerate(ends) if end + GAP <= left), len(ends))
        if lane == most:
            continue
        lanes[at] = lane
        ends[lane : lane + 1] = [right]
    return lanes


def _turn(label: Label) -> tuple[bool, float]:
    """Words left of their leader first, from the left; then the others from the right: so leaders pass by words."""
    leftwards = label.left < label.x
    return (not leftwards, label.x if leftwards else -label.x)


def _has_room(label: Label, lane: int, placed: Iterable[tuple[Label, int]]) -> bool:
    for other, taken in placed:
        if taken == lane and label.meets(other):
            return False
        if taken < lane and other.crossed_at(label.x):
            return False
        if taken > lane and label.crossed_at(other.x):
            return False
    return True
