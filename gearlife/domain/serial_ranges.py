"""What a range of serials means: numbers are compared, and only between serials that are written alike.

Makers number in their own ways, and nothing says that a serial of another form lies before, after or within a range.
So a serial that no range can be compared with is never shown to be outside.
"""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from gearlife.domain.normal_form import normal_form

NUMBERS = re.compile(r"[0-9]+")


class Place(StrEnum):
    """Where a serial lies."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    NOT_COMPARABLE = "not_comparable"


@dataclass(frozen=True)
class Shape:
    """All of a serial but one number: what stands before and after it, and with how many digits it is written."""

    before: str
    width: int
    after: str


@dataclass(frozen=True)
class SerialRange:
    """Serials of one shape whose number is at least `low` and at most `high`."""

    shape: Shape
    low: int
    high: int

    @classmethod
    def between(cls, first: str, last: str) -> "SerialRange":
        """The range with these ends, both in it; ValueError says why there is none.

        The ends differ in one number of the same width, and in nothing else; where they are the same, the last counts.
        """
        starts, ends = numbers_of(first), numbers_of(last)
        if not starts or not ends:
            raise ValueError("an end has no number in it: name such serials one by one")
        alike = [shape for shape in starts if shape in ends]
        if not alike:
            words = (
                "the ends are not written alike: they may differ in one number of as many digits, and in nothing else"
            )
            raise ValueError(words)
        shape = alike[-1]
        if starts[shape] > ends[shape]:
            raise ValueError("the range is reversed: its first serial comes after its last")
        return cls(shape, starts[shape], ends[shape])


class SerialRanges:
    """Some ranges, asked together where a serial lies."""

    def __init__(self, ranges: Iterable[SerialRange]) -> None:
        """Sort them by shape, so that asking takes no longer with many ranges."""
        self._by_shape: dict[Shape, list[SerialRange]] = defaultdict(list)
        for each in ranges:
            self._by_shape[each.shape].append(each)

    def place(self, serial: str) -> Place:
        """Inside any range; else outside all those that it is written like; not comparable where it is like none."""
        like = {shape: number for shape, number in numbers_of(serial).items() if shape in self._by_shape}
        if any(each.low <= number <= each.high for shape, number in like.items() for each in self._by_shape[shape]):
            return Place.INSIDE
        return Place.OUTSIDE if like else Place.NOT_COMPARABLE


def numbers_of(serial: str) -> dict[Shape, int]:
    """Each number in a serial by what is around it, in order; blanks outside and case make no difference."""
    text = normal_form(serial)
    return {
        Shape(text[: found.start()], len(found[0]), text[found.end() :]): int(found[0])
        for found in NUMBERS.finditer(text)
    }
