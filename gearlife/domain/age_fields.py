"""Gear by age as a field: years are its yard lines, down the page, and each item is a stroke in the row of its years.

Numbers in, marks out; units are those of the picture, which has `WIDTH` of them across whatever it is drawn at.
Strokes are told off in fives, the fifth across the four before it, so that a pile is counted at a glance.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from gearlife.domain.clocks import Rule
from gearlife.domain.vocabulary import Counts

WIDTH = 340.0
# The sideline: figures of the years stand left of it, strokes right of it, the count behind them.
SIDELINE = 34.0
BEGIN = 42.0
ROW = 22.0
# Above a row at which a limit stands there is room for the limit's name.
NAME = 20.0
STROKE = 4.0
FIVE = 22.0
TALL = 14.0
FIGURES = 5.0
MOST_STROKES = 55
# Rows beyond this one would be as many as the rest: whatever is older stands in the last.
LAST_ROW = 30
# One stroke is one item, or two, five, ten and so on.
STEPS = (1, 2, 5)

Ages = Mapping[int | None, int]


@dataclass(frozen=True)
class Pile:
    """The items of one row: `years` None are those without a date; `path` is their strokes as SVG's path data."""

    years: int | None
    or_older: bool
    items: int
    top: float
    middle: float
    path: str
    count_at: float

    @property
    def text_at(self) -> float:
        """Where figures stand on the row."""
        return self.middle + FIGURES

    @property
    def is_fifth(self) -> bool:
        """Whether its figure stands out."""
        return self.years is not None and self.years % 5 == 0


@dataclass(frozen=True)
class Line:
    """A limit across the field: its number among those asked for, where it lies, and where its name stands."""

    number: int
    y: float
    name_y: float


@dataclass(frozen=True)
class Field:
    """The whole picture of one group."""

    height: float
    piles: Sequence[Pile]
    lines: Sequence[Line]
    width: float = WIDTH

    @property
    def foot(self) -> float:
        """The lower end of the sideline."""
        return self.height - 1


def years_of(rule: Rule) -> float | None:
    """How many years after manufacture a rule's limit lies; None where the maker states it."""
    if rule.amount is None:
        return None
    return rule.amount / {Counts.MONTHS: 12, Counts.DAYS: 365.2425}.get(rule.counts, 1)


def stroke_worth(piles: Iterable[int]) -> int:
    """How many items one stroke stands for, so that the largest of these piles has room."""
    most = max(piles, default=0)
    worths: Iterator[int] = (step * 10**power for power in range(12) for step in STEPS)
    return next(worth for worth in worths if most <= worth * MOST_STROKES)


def rows_for(ages: Iterable[Ages], limits: Iterable[float]) -> int:
    """The last row that fields beside each other need: one row for each year, and for what is older the last."""
    oldest = [years for each in ages for years in each if years is not None]
    return min(LAST_ROW, max([5, *oldest, *(math.floor(limit) for limit in limits)]))


def field_of(ages: Ages, limits: Sequence[float], *, last: int, worth: int) -> Field:
    """Lay out one group: its ages, and the limits in years, which lie above the row of their years."""
    piles: list[Pile] = []
    lines: list[Line] = []
    y = 1.0
    for years in range(last + 1):
        for number in _limits_at(years, limits, last):
            y += NAME
            lines.append(Line(number, y, y - 6))
        items = sum(count for age, count in ages.items() if age is not None and min(age, last) == years)
        or_older = years == last and any(age is not None and age > last for age in ages)
        piles.append(_pile(years, items, y, worth, or_older=or_older))
        y += ROW
    if None in ages:
        piles.append(_pile(None, ages[None], y + ROW / 2, worth))
        y += ROW * 1.5
    return Field(y + 1, piles, lines)


def _limits_at(years: int, limits: Sequence[float], last: int) -> Iterator[int]:
    """The limits that lie in this year, by their numbers, the earliest first."""
    numbered = sorted((limit, number) for number, limit in enumerate(limits))
    return (number for limit, number in numbered if min(math.floor(limit), last) == years)


def _pile(years: int | None, items: int, top: float, worth: int, *, or_older: bool = False) -> Pile:
    whole, rest = divmod(items, worth)
    strokes = [1.0] * whole + ([rest / worth] if rest else [])
    middle = top + ROW / 2
    path = "".join(_stroke(number, share, middle) for number, share in enumerate(strokes))
    fives, singles = divmod(len(strokes), 5)
    return Pile(years, or_older, items, top, middle, path, BEGIN + fives * FIVE + singles * STROKE + STROKE / 2)


def _stroke(number: int, share: float, middle: float) -> str:
    """One stroke from below; what stands for less than the rest is so much shorter."""
    five, place = divmod(number, 5)
    foot, tall = middle + TALL / 2, TALL * share
    x = BEGIN + five * FIVE + place * STROKE
    if place < 4:  # noqa: PLR2004 - the fifth goes across the four
        return f"M{x:g} {foot:g}v{-tall:g}"
    left, across = x - 4.5 * STROKE, 4 * STROKE
    return f"M{left:g} {foot:g}l{across * share:g} {-tall:g}"
