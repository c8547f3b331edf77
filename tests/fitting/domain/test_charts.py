"""A maker's chart as it is typed: what is read of it, and what is refused with the row named."""

from math import inf

import pytest

from fitting.domain.charts import ChartFault, ChartRow, chart_faults, ranges_of, read_chart, restored, stored
from fitting.domain.sizing import SizeRange, WeightRange
from fitting.domain.vocabulary import ChartMeasure, MeasurementKind
from gearlife.domain.vocabulary import Kind

HEAD, CHEST, SHOULDER, WEIGHT = (
    ChartMeasure.HEAD_CIRCUMFERENCE,
    ChartMeasure.CHEST_CIRCUMFERENCE,
    ChartMeasure.SHOULDER_WIDTH,
    ChartMeasure.WEIGHT,
)


def head(size: str, low: float, high: float) -> ChartRow:
    return ChartRow(size, HEAD, low, high)


def faults(*rows: ChartRow, kind: Kind = Kind.HELMET) -> list[tuple[int, str]]:
    return [(each.row, each.words) for each in chart_faults(rows, kind)]


def test_a_chart_is_read_in_the_units_of_the_booklet() -> None:
    text = "size,measure,from,to,unit\nS,head,20 1/2,21 1/2,in\nM,Head circumference,54.6,57.2,cm\nL,head,572,,mm\n"
    rows, wrong = read_chart(text)
    assert wrong == []
    assert rows == [head("S", 520.7, 546.1), head("M", 546, 572), head("L", 572, inf)]


def test_a_chart_with_semicolons_and_decimal_commas_is_read() -> None:
    rows, wrong = read_chart("size;measure;from;to;unit\nM;chest;80,5;90;cm\nM;weight;30;45,5;kg\nL;weight;100;150;lb")
    assert wrong == []
    assert rows[:2] == [ChartRow("M", CHEST, 805, 900), ChartRow("M", WEIGHT, 30, 45.5)]
    # A pound is 0.45359237 kg (NIST Handbook 44, appendix C).
    assert rows[2] == ChartRow("L", WEIGHT, 45.36, 68.04)


@pytest.mark.parametrize(
    ("line", "row", "member"),
    [
        (",head,520,550,mm", 0, "size"),
        ("M,waist,520,550,mm", 0, "measure"),
        ("M,head,abc,550,mm", 0, "from"),
        ("M,head,520,5500,mm", 0, "to"),
        ("M,head,NaN,550,mm", 0, "from"),
        ("M,head,-520,550,mm", 0, "from"),
        ("M,head,520,550,", 0, "from"),
        ("M,head,520,550,kg", 0, "from"),
        ("M,weight,30,40,cm", 0, "from"),
        ("M,weight,nan,40,kg", 0, "from"),
    ],
)
def test_a_cell_that_cannot_be_read_is_named(line: str, row: int, member: str) -> None:
    _, wrong = read_chart(f"size,measure,from,to,unit\n{line}")
    assert (wrong[0].row, wrong[0].member) == (row, member)


@pytest.mark.parametrize("text", ["", "S,M,L", "size,measure,from\nM,head,52", 'size,measure,from,to,unit\n"M,head,5'])
def test_what_is_no_table_of_sizes_is_refused(text: str) -> None:
    rows, wrong = read_chart(text)
    assert rows == []
    assert wrong


def test_a_chart_without_gaps_is_taken_and_rows_may_overlap() -> None:
    assert faults(head("S", 510, 545), head("M", 545, 575), head("L", 570, 610)) == []
    assert faults(head("M", -inf, 575), head("L", 575, inf)) == []


def test_a_gap_is_refused_at_the_row_after_it() -> None:
    found = faults(head("L", 580, 610), head("S", 510, 545), head("M", 545, 575))
    assert found == [
        (0, "between 575 and 580 mm there is no size: let size M (row 3) end where size L begins"),
    ]


def test_a_gap_behind_a_row_that_reaches_over_the_next_is_measured_from_the_farther_end() -> None:
    assert faults(head("S", 510, 580), head("M", 520, 560), head("L", 575, 610)) == []
    assert [row for row, _ in faults(head("S", 510, 570), head("M", 520, 560), head("L", 575, 610))] == [2]


def test_rows_that_run_backwards_or_have_no_width_are_refused() -> None:
    assert [row for row, _ in faults(head("S", 510, 545), head("M", 575, 545))] == [1]
    assert [row for row, _ in faults(head("S", 510, 510))] == [0]
    assert [row for row, _ in faults(head("S", -inf, inf))] == [0]


@pytest.mark.parametrize(("low", "high"), [(54, 56), (-inf, 57.2), (5400, 5600), (1900.1, inf)])
def test_a_range_in_another_unit_fits_nobody_and_is_refused(low: float, high: float) -> None:
    assert [(row, "look at the unit" in words) for row, words in faults(head("M", low, high))] == [(0, True)]
    assert faults(head("S", 0, 540), head("M", 540, inf)) == []


def test_a_size_stands_once_for_each_measure_however_it_is_spelt() -> None:
    assert [row for row, _ in faults(head("M", 510, 545), head("m", 545, 575))] == [1]


def test_a_size_that_leaves_out_a_length_is_refused() -> None:
    rows = [ChartRow("S", CHEST, 700, 860), ChartRow("S", SHOULDER, 360, 420), ChartRow("M", CHEST, 860, 960)]
    assert faults(*rows, kind=Kind.SHOULDER_PADS) == [(2, "size M has no row for shoulder width, other sizes have")]


def test_each_kind_of_gear_has_its_measures() -> None:
    assert faults(ChartRow("S", CHEST, 700, 860))[0][0] == 0
    assert faults(head("S", 510, 545), kind=Kind.SHOULDER_PADS)[0][0] == 0
    assert "weight alone" in faults(ChartRow("S", WEIGHT, 30, 40), kind=Kind.SHOULDER_PADS)[0][1]
    assert chart_faults([], Kind.HELMET) == [ChartFault(0, "size", "the chart has no row: give at least one size")]


def test_what_is_kept_is_what_was_typed() -> None:
    rows = [ChartRow("M", CHEST, -inf, 960.5), ChartRow("M", SHOULDER, 420, inf), ChartRow("M", WEIGHT, 30, 45)]
    kept = [stored(row) for row in rows]
    assert kept[0] == {"size": "M", "measure": "chest_circumference", "from_mm": None, "to_mm": 960.5}
    assert kept[2] == {"size": "M", "measure": "body_weight", "from_kg": 30, "to_kg": 45}
    assert [restored(row) for row in kept] == rows
    assert ranges_of(kept) == (
        [
            SizeRange("M", MeasurementKind.CHEST_CIRCUMFERENCE, -inf, 960.5),
            SizeRange("M", MeasurementKind.SHOULDER_WIDTH, 420, inf),
        ],
        [WeightRange("M", 30, 45)],
    )
