"""A maker's size chart: its rows as the officer enters them, and what cannot be taken of them, row by row."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import inf
from typing import Any

from fitting.domain.lengths import LONGEST_MM, SHORTEST_MM, read_length
from fitting.domain.sizing import SizeRange, WeightRange
from fitting.domain.vocabulary import ChartMeasure, MeasurementKind
from gearlife.domain.intake.records import csv_records
from gearlife.domain.vocabulary import Kind, Units

LONGEST_SIZE = 24
MOST_ROWS = 120
HEAVIEST_KG = 250.0
KG_PER_LB = 0.45359237  # exact since 1959
COLUMNS = ("size", "measure", "from", "to", "unit")
# What a chart of each kind of gear is about; the weight comes on top, where a maker gives one.
MEASURES: Mapping[Kind, frozenset[ChartMeasure]] = {
    Kind.HELMET: frozenset({ChartMeasure.HEAD_CIRCUMFERENCE}),
    Kind.SHOULDER_PADS: frozenset({ChartMeasure.CHEST_CIRCUMFERENCE, ChartMeasure.SHOULDER_WIDTH, ChartMeasure.WEIGHT}),
}
_SHORT = {"head": "head_circumference", "chest": "chest_circumference", "shoulder": "shoulder_width"} | {
    "weight": "body_weight"
}
_UNITS = {"kg": 1.0, "lb": KG_PER_LB, "lbs": KG_PER_LB}


@dataclass(frozen=True)
class ChartRow:
    """One size's range of one measure: millimetres, or kilogrammes for the weight; infinite where the end is open."""

    size: str
    measure: ChartMeasure
    low: float
    high: float

    @property
    def unit(self) -> str:
        """What its numbers are in."""
        return "kg" if self.measure is ChartMeasure.WEIGHT else "mm"


@dataclass(frozen=True)
class ChartFault:
    """What is wrong with a row; rows count from 0, `member` is its column."""

    row: int
    member: str
    words: str


def chart_faults(rows: Sequence[ChartRow], kind: Kind) -> list[ChartFault]:
    """Rows that run backwards, stand twice, leave a gap, or say too little; overlapping is a maker's right."""
    if not rows:
        return [ChartFault(0, "size", "the chart has no row: give at least one size")]
    foreign = list(_foreign(rows, kind))
    return foreign or [*_reversed(rows), *_doubled(rows), *_incomplete(rows)] or list(_gaps(rows))


def stored(row: ChartRow) -> dict[str, Any]:
    """The row as it is kept and answered: `from_mm` and `to_mm`, or `from_kg` and `to_kg`; null is an open end."""
    ends = {f"from_{row.unit}": _finite(row.low), f"to_{row.unit}": _finite(row.high)}
    return {"size": row.size, "measure": row.measure.value, **ends}


def restored(row: Mapping[str, Any]) -> ChartRow:
    """A row out of what is kept, or of what a program sent in the same form."""
    measure = ChartMeasure(row["measure"])
    unit = "kg" if measure is ChartMeasure.WEIGHT else "mm"
    low, high = row.get(f"from_{unit}"), row.get(f"to_{unit}")
    return ChartRow(row["size"], measure, -inf if low is None else float(low), inf if high is None else float(high))


def ranges_of(rows: Iterable[Mapping[str, Any]]) -> tuple[list[SizeRange], list[WeightRange]]:
    """What is kept of a chart, as `sizing.sizes` takes it."""
    lengths, weights = [], []
    for row in map(restored, rows):
        if row.measure is ChartMeasure.WEIGHT:
            weights.append(WeightRange(row.size, row.low, row.high))
        else:
            lengths.append(SizeRange(row.size, MeasurementKind(row.measure.value), row.low, row.high))
    return lengths, weights


def read_chart(text: str) -> tuple[list[ChartRow], list[ChartFault]]:
    """The rows of a typed table (`size,measure,from,to,unit`), with the faults by row, the heading not counted.

    The unit may stand in the heading's column or at the numbers themselves; an empty end is open.
    """
    records = csv_records(text)
    if records.faults:
        return [], [ChartFault(each.row - 2, "size", each.reason) for each in records.faults]
    lines = [[cell.strip() for cell in row] for row in records.rows if any(cell.strip() for cell in row)]
    heading = [cell.casefold() for cell in lines[0]] if lines else []
    if missing := [name for name in COLUMNS[:4] if name not in heading]:
        words = f"the first line names the columns {', '.join(COLUMNS)}; it lacks {', '.join(missing)}"
        return [], [ChartFault(-1, missing[0], words)]
    if len(lines) - 1 > MOST_ROWS:
        return [], [ChartFault(MOST_ROWS, "size", f"a chart has at most {MOST_ROWS} rows")]
    faults: list[ChartFault] = []
    read = [_row(number, dict(zip(heading, line, strict=False)), faults) for number, line in enumerate(lines[1:])]
    return [row for row in read if row], faults


def _row(number: int, cells: Mapping[str, str], faults: list[ChartFault]) -> ChartRow | None:
    before = len(faults)
    size = cells.get("size", "")
    if not 0 < len(size) <= LONGEST_SIZE:
        faults.append(ChartFault(number, "size", f"name the size in at most {LONGEST_SIZE} characters"))
    measure = _measure(number, cells.get("measure", ""), faults)
    if measure is None:
        return None
    unit = cells.get("unit", "").casefold()
    low, high = (_end(number, name, cells.get(name, ""), measure, unit, faults) for name in ("from", "to"))
    if len(faults) > before:
        return None
    return ChartRow(size, measure, -inf if low is None else low, inf if high is None else high)


def _measure(number: int, typed: str, faults: list[ChartFault]) -> ChartMeasure | None:
    word = typed.casefold().replace(" ", "_")
    try:
        return ChartMeasure(_SHORT.get(word, word))
    except ValueError:
        faults.append(ChartFault(number, "measure", "the measure is head, chest, shoulder or weight"))
        return None


def _end(
    number: int, name: str, typed: str, measure: ChartMeasure, unit: str, faults: list[ChartFault]
) -> float | None:
    if not typed:
        return None
    try:
        return _weight(typed, unit) if measure is ChartMeasure.WEIGHT else float(_length(typed, unit))
    except ValueError as wrong:
        faults.append(ChartFault(number, name, str(wrong)))
        return None


def _length(typed: str, unit: str) -> Decimal:
    if unit in {"", "in", "inches", "inch", '"'}:
        # A number without any unit would be a guess.
        if not unit and typed[-1:].isdigit():
            raise ValueError("the unit is missing: write mm, cm or in")
        return read_length(typed, Units.INCHES)
    if unit not in {"mm", "cm"}:
        raise ValueError("the unit of a length is mm, cm or in")
    return read_length(typed if not typed[-1:].isdigit() else f"{typed} {unit}", Units.CENTIMETRES)


def _weight(typed: str, unit: str) -> float:
    if unit not in _UNITS:
        raise ValueError("the unit of a weight is kg or lb")
    try:
        kilogrammes = round(float(typed.replace(",", ".")) * _UNITS[unit], 2)
    except ValueError:
        kilogrammes = -1.0
    if not 0 < kilogrammes <= HEAVIEST_KG:
        raise ValueError(f"write a weight as a number up to {HEAVIEST_KG:g} kg")
    return kilogrammes


def _finite(end: float) -> float | None:
    return end if abs(end) < inf else None


def _foreign(rows: Sequence[ChartRow], kind: Kind) -> Iterator[ChartFault]:
    known = MEASURES[kind]
    for number, row in enumerate(rows):
        if row.measure not in known:
            words = f"{_called(row)} is not what {_plural(kind)} are sized by"
            yield ChartFault(number, "measure", words)
    if all(row.measure is ChartMeasure.WEIGHT for row in rows):
        yield ChartFault(0, "measure", "a weight alone makes no size: give the chest or the shoulders as well")


def _reversed(rows: Sequence[ChartRow]) -> Iterator[ChartFault]:
    """Rows that are no range, or one in which nobody is."""
    for number, row in enumerate(rows):
        if row.low == -inf and row.high == inf:
            yield ChartFault(number, "from", f"size {row.size} has neither beginning nor end: give one of them")
        elif not row.low < row.high:
            words = f"size {row.size} runs from {row.low:g} to {row.high:g} {row.unit}: the smaller number comes first"
            yield ChartFault(number, "from", words)
        elif row.unit == "mm" and (row.high < SHORTEST_MM or row.low > LONGEST_MM):
            words = f"size {row.size} runs from {row.low:g} to {row.high:g} mm, which fits nobody: look at the unit"
            yield ChartFault(number, "from", words)


def _doubled(rows: Sequence[ChartRow]) -> Iterator[ChartFault]:
    first: dict[tuple[str, ChartMeasure], int] = {}
    for number, row in enumerate(rows):
        if (before := first.setdefault((row.size.casefold(), row.measure), number)) != number:
            words = f"size {row.size} stands twice for {_called(row)}: row {before + 1} has it too"
            yield ChartFault(number, "size", words)


def _incomplete(rows: Sequence[ChartRow]) -> Iterator[ChartFault]:
    """A size that leaves out a length would be judged by less than the others."""
    lengths = {row.measure for row in rows} - {ChartMeasure.WEIGHT}
    has: dict[str, set[ChartMeasure]] = {}
    first: dict[str, int] = {}
    for number, row in enumerate(rows):
        has.setdefault(row.size.casefold(), set()).add(row.measure)
        first.setdefault(row.size.casefold(), number)
    for size, number in first.items():
        for measure in sorted(lengths - has[size]):
            words = f"size {rows[number].size} has no row for {measure.replace('_', ' ')}, other sizes have"
            yield ChartFault(number, "measure", words)


def _gaps(rows: Sequence[ChartRow]) -> Iterator[ChartFault]:
    """What lies between two ranges would belong to no size."""
    for measure in sorted({row.measure for row in rows}):
        own = [(number, row) for number, row in enumerate(rows) if row.measure is measure]
        own.sort(key=lambda each: (each[1].low, each[1].high))
        reached, last = own[0][1].high, own[0][0]
        for number, row in own[1:]:
            if row.low > reached:
                yield ChartFault(number, "from", _gap(row, reached, rows[last].size, last))
            if row.high > reached:
                reached, last = row.high, number


def _gap(row: ChartRow, reached: float, smaller: str, number: int) -> str:
    return (
        f"between {reached:g} and {row.low:g} {row.unit} there is no size: let size {smaller} (row {number + 1}) end "
        f"where size {row.size} begins"
    )


def _called(row: ChartRow) -> str:
    return row.measure.replace("_", " ")


def _plural(kind: Kind) -> str:
    return "helmets" if kind is Kind.HELMET else "shoulder pads"
