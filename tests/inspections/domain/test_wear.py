"""How a point wears: its grades over the inspections, and when it has gone from bad to worse."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as some

from inspections.domain.grades import ORDER
from inspections.domain.vocabulary import Grade
from inspections.domain.wear import Looked, PointWear, Seen, wear_of

FIRST = date(2026, 9, 1)
NOTHING, WEAR, REPAIR, STOP, SCRAP = ORDER


def looked(week: int, grade: Grade = NOTHING, *, fixed: bool = False, points: str = "guard strap") -> Looked:
    on = FIRST + timedelta(weeks=week)
    return Looked(
        inspection=UUID(int=week),
        at=datetime(on.year, on.month, on.day, tzinfo=UTC),
        on=on,
        points=frozenset(points.split()),
        found={"guard": grade} if grade is not NOTHING else {},
        fixed=frozenset({"guard"} if fixed else ()),
    )


def worsening(*grades: Grade) -> list[Grade]:
    seen = (Seen(UUID(int=week), FIRST + timedelta(weeks=week), grade) for week, grade in enumerate(grades))
    return [each.grade for each in PointWear("guard", tuple(seen)).worsening]


@pytest.mark.parametrize(
    ("grades", "named"),
    [
        ((NOTHING, WEAR, REPAIR), [NOTHING, WEAR, REPAIR]),
        ((NOTHING, NOTHING, WEAR, WEAR, REPAIR), [NOTHING, WEAR, REPAIR]),
        ((WEAR, REPAIR, STOP), [WEAR, REPAIR, STOP]),
        ((NOTHING, WEAR), []),
        ((NOTHING, REPAIR, WEAR, REPAIR), []),
        ((NOTHING, WEAR, NOTHING, REPAIR, NOTHING), [NOTHING, WEAR, REPAIR]),
        ((NOTHING, REPAIR, WEAR, NOTHING), []),
        ((NOTHING,), []),
    ],
)
def test_worse_twice_in_a_row_is_named_and_nothing_else_is(grades: tuple[Grade, ...], named: list[Grade]) -> None:
    assert worsening(*grades) == named


def test_a_part_that_was_put_right_begins_anew() -> None:
    [wear] = wear_of([looked(1), looked(2, WEAR), looked(3, REPAIR, fixed=True), looked(4, STOP)])
    assert wear.worsening == ()
    assert [each.grade for each in wear.stretches] == [STOP]
    assert [(each.grade, each.fixed) for each in wear.changes] == [
        (NOTHING, False),
        (WEAR, False),
        (REPAIR, True),
        (STOP, False),
    ]


def test_an_inspection_that_did_not_look_at_a_point_says_nothing_of_it() -> None:
    [wear] = wear_of([looked(1, WEAR), looked(2, points="strap"), looked(3, REPAIR)])
    assert [each.grade for each in wear.seen] == [WEAR, REPAIR]


def test_points_at_which_nothing_was_ever_found_are_left_out() -> None:
    assert wear_of([looked(1), looked(2)]) == []


@given(some.lists(some.tuples(some.sampled_from(ORDER), some.booleans()), min_size=1, max_size=12), some.randoms())
def test_the_order_of_arrival_changes_nothing(grades: list[tuple[Grade, bool]], draw: object) -> None:
    in_order = [looked(week, grade, fixed=fixed) for week, (grade, fixed) in enumerate(grades)]
    mixed = list(in_order)
    draw.shuffle(mixed)  # type: ignore[attr-defined] # a random.Random
    assert wear_of(mixed) == wear_of(in_order)
