"""The field of the gear's age: no item is lost, none is drawn twice, and everything lies where it is read."""

import re
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as some

from gearlife.domain.age_fields import (
    LAST_ROW,
    MOST_STROKES,
    ROW,
    WIDTH,
    Field,
    field_of,
    rows_for,
    stroke_worth,
    years_of,
)
from gearlife.domain.vocabulary import Anchor, Counts
from tests.factories import rule

ages = some.dictionaries(some.none() | some.integers(0, 60), some.integers(1, 400), max_size=30)


def strokes(path: str) -> int:
    return path.count("M")


def drawn(counts: dict[int | None, int], *limits: float) -> tuple[Field, int]:
    worth = stroke_worth(counts.values())
    return field_of(counts, limits, last=rows_for([counts], limits), worth=worth), worth


@given(counts=ages)
def test_every_item_is_in_the_row_of_its_years(counts: dict[int | None, int]) -> None:
    field, worth = drawn(counts)
    told = Counter({pile.years: pile.items for pile in field.piles})
    expected: Counter[int | None] = Counter()
    for years, items in counts.items():
        expected[None if years is None else min(years, LAST_ROW)] += items
    assert +told == expected
    assert all(strokes(pile.path) == -(-pile.items // worth) for pile in field.piles)
    assert [pile.years for pile in field.piles if pile.or_older] == [LAST_ROW] * any(
        (y or 0) > LAST_ROW for y in counts
    )


@given(counts=ages)
def test_nothing_is_drawn_outside(counts: dict[int | None, int]) -> None:
    """A pile of the last row may hold many years together, so each is asked for with the largest."""
    field, _ = drawn({years: items for years, items in counts.items() if (years or 0) <= LAST_ROW})
    for pile in field.piles:
        assert pile.count_at + 30 <= WIDTH
        assert pile.top + ROW <= field.height
        for x, y in re.findall(r"M([\d.]+) ([\d.]+)", pile.path):
            assert 34 < float(x) < pile.count_at
            assert pile.top < float(y) < pile.top + ROW


def test_strokes_are_told_off_in_fives() -> None:
    field, _ = drawn({3: 7})
    pile = next(pile for pile in field.piles if pile.years == 3)
    assert re.sub(r"[\d.-]+ ?", "", pile.path) == "MvMvMvMvMlMvMv"


@pytest.mark.parametrize(
    ("most", "worth"), [(0, 1), (1, 1), (55, 1), (56, 2), (110, 2), (111, 5), (300, 10), (2800, 100)]
)
def test_a_stroke_is_worth_as_much_as_the_largest_pile_needs(most: int, worth: int) -> None:
    assert stroke_worth([most, 0]) == worth
    assert most <= worth * MOST_STROKES


def test_a_stroke_for_less_is_so_much_shorter() -> None:
    field = field_of({1: 25}, [], last=5, worth=10)
    lengths = re.findall(r"v-([\d.]+)", field.piles[1].path)
    assert [float(length) for length in lengths] == [14, 14, 7]


def test_a_limit_lies_above_the_row_of_its_years_with_room_for_its_name() -> None:
    field, _ = drawn({2: 1, 17: 2}, 16.0, 10.0, 10.5)
    tops = {pile.years: pile.top for pile in field.piles}
    assert [line.number for line in field.lines] == [1, 2, 0]
    for line, years in zip(field.lines, (10, 10, 16), strict=True):
        before = tops[years - 1] + ROW
        assert before < line.name_y < line.y <= tops[years]


@given(counts=ages, limits=some.lists(some.floats(0, 40), max_size=4))
def test_rows_and_lines_follow_each_other_down_the_field(counts: dict[int | None, int], limits: list[float]) -> None:
    field, _ = drawn(counts, *limits)
    assert sorted(line.number for line in field.lines) == list(range(len(limits)))
    tops = [pile.top for pile in field.piles]
    assert all(later - earlier >= ROW for earlier, later in pairwise(tops))
    assert all(line.y < field.foot for line in field.lines)


@pytest.mark.parametrize(
    ("counts", "amount", "years"),
    [
        (Counts.MONTHS, 192, 16),
        (Counts.MONTHS, 126, 10.5),
        (Counts.SEASON_YEARS, 10, 10),
        (Counts.SEASONS, 3, 3),
        (Counts.DAYS, 3652, pytest.approx(10, abs=0.01)),
        (Counts.MONTHS, None, None),
    ],
)
def test_a_rule_lies_so_many_years_after_manufacture(counts: Counts, amount: int | None, years: object) -> None:
    assert years_of(rule(anchor=Anchor.MADE, counts=counts, amount=amount)) == years
