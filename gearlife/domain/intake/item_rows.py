"""The rows of an items file: cells to values, and what a row or the file by itself can show to be wrong."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from gearlife.domain.intake.cells import CellReader
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.table import Row, Sheet, Table
from gearlife.domain.normal_form import SERIAL_LENGTH, normal_form, word_form
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Kind

ITEMS = Sheet(
    of="items",
    columns=(
        "serial",
        "kind",
        "manufacturer",
        "model",
        "size",
        "made_on",
        "certified_on",
        "certified_by",
        "acquired_on",
        "tag",
        "colour",
        "notes",
    ),
    required=frozenset({"kind", "manufacturer", "model"}),
    one_of=("serial", "tag"),
)
# From how many digits on, and among how many, one that is shorter is odd: common practice, no source.
LONG, ENOUGH, MOST = 6, 4, 0.75
KINDS = {kind.value: kind.value for kind in Kind}
LENGTHS = {"manufacturer": 80, "model": 80, "size": 24, "certified_by": 120, "tag": 32, "colour": 40, "notes": 500}


@dataclass(frozen=True)
class ItemRow:
    """One row, as far as it could be read: empty text and None are cells without a word."""

    number: int
    serial: str
    tag: str
    kind: Kind | None
    manufacturer: str
    model: str
    size: str
    colour: str
    notes: str
    made_on: PartialDate | None
    certified_on: date | None
    certified_by: str
    acquired_on: date | None

    @cached_property
    def maker_key(self) -> str:
        """The maker's normal form."""
        return normal_form(self.manufacturer)

    @cached_property
    def model_key(self) -> str:
        """The model's normal form."""
        return normal_form(self.model)

    @cached_property
    def serial_key(self) -> str:
        """The serial's normal form."""
        return normal_form(self.serial)

    @cached_property
    def tag_key(self) -> str:
        """The tag's normal form."""
        return normal_form(self.tag)

    @property
    def name_key(self) -> str:
        """What names the item: its serial, or its tag where it has none."""
        return self.serial_key or self.tag_key


def read_items(table: Table, findings: Findings, today: date) -> list[ItemRow]:
    """Every row; the faults of all of them go to the findings."""
    rows = [_read(row, findings, today) for row in table.rows]
    _refuse_doubled(rows, findings)
    return rows


def _read(row: Row, findings: Findings, today: date) -> ItemRow:
    cells = CellReader(row, findings)
    read = ItemRow(
        number=row.number,
        serial=cells.code("serial", SERIAL_LENGTH),
        kind=_kind(cells),
        manufacturer=cells.text("manufacturer", LENGTHS["manufacturer"], required=True),
        model=cells.text("model", LENGTHS["model"], required=True),
        size=cells.size("size", LENGTHS["size"]),
        made_on=cells.partial_date("made_on"),
        certified_on=cells.day("certified_on", today),
        certified_by=cells.text("certified_by", LENGTHS["certified_by"]),
        acquired_on=cells.day("acquired_on", today),
        tag=cells.code("tag", LENGTHS["tag"]),
        colour=cells.text("colour", LENGTHS["colour"]),
        notes=cells.text("notes", LENGTHS["notes"]),
    )
    if is_nameless(row):
        cells.fault("serial", "neither serial nor tag; give the item a club tag, marked so, and write it here")
    if cells.raw("certified_by") and not cells.raw("certified_on"):
        cells.fault("certified_on", "certified_by names a firm: give the day of its certification too")
    _refuse_contradicting_days(read, cells, today)
    return read


def _kind(cells: CellReader) -> Kind | None:
    word = cells.word("kind", KINDS, form=word_form(cells.raw("kind")))
    return Kind(word) if word else None


def is_nameless(row: Row) -> bool:
    """Whether neither serial nor tag is filled in."""
    return not row.cells.get("serial") and not row.cells.get("tag")


def _refuse_contradicting_days(row: ItemRow, cells: CellReader, today: date) -> None:
    """A date of manufacture is later than another day only when its earliest possible day is."""
    if row.made_on is None:
        return
    if row.made_on.earliest > today:
        cells.fault("made_on", "it cannot have been made in the future")
    for column, day in (("acquired_on", row.acquired_on), ("certified_on", row.certified_on)):
        if day and row.made_on.earliest > day:
            cells.doubt("made_on", f"made later than {column} {day}")


def doubt_of_this_year(made_on: PartialDate | None, today: date) -> str | None:
    """Why a full day of this year is doubtful where no label vouches for it; None when there is no doubt."""
    if made_on is None or made_on.month is None or made_on.day is None or made_on.year != today.year:
        return None
    read_as = f"{made_on.month}/{made_on.day}"
    labels = f"{made_on.year // 100}{made_on.day:02d}-{made_on.month:02d}"
    says = f" {labels} if it says {read_as} for month and year," if int(labels[:4]) <= today.year else ""
    return (
        f"a full day of this year is what a spreadsheet makes of a label's {read_as}; write what the label "
        f"says:{says} {made_on.year}-{made_on.month:02d} if it was made in that month"
    )


def shortened_serials(rows: Iterable[ItemRow]) -> dict[int, str]:
    """Why a serial of digits looks as if a spreadsheet had taken zeros from its beginning, by row."""
    of_model: dict[tuple[str, str], list[ItemRow]] = {}
    for row in rows:
        if row.serial_key.isdecimal() and row.serial_key.isascii():
            of_model.setdefault((row.maker_key, row.model_key), []).append(row)
    return {number: reason for group in of_model.values() for number, reason in _shortened(group)}


def _shortened(rows: Sequence[ItemRow]) -> Iterator[tuple[int, str]]:
    """Those shorter than serials of the same model that begin with zeros, or than nearly all of six digits and more."""
    padded = [row for row in rows if row.serial_key.startswith("0") and len(row.serial_key) > 1]
    width, of_width = Counter(len(row.serial_key) for row in padded or rows).most_common(1)[0]
    if not padded and (width < LONG or of_width < MOST * len(rows) or of_width < ENOUGH):
        return
    example = next(row for row in padded or rows if len(row.serial_key) == width)
    for row in rows:
        if len(row.serial_key) < width and not row.serial_key.startswith("0"):
            yield (
                row.number,
                f"shorter than '{example.serial}' on row {example.number}: has a spreadsheet taken zeros from its "
                f"beginning? As long as the others it would be {row.serial_key.zfill(width)}",
            )


def _refuse_doubled(rows: Iterable[ItemRow], findings: Findings) -> None:
    """A maker's serial, or a tag, stands on one row only."""
    serials: dict[tuple[str, str], int] = {}
    tags: dict[str, int] = {}
    for row in rows:
        if row.serial_key:
            first = serials.setdefault((row.maker_key, row.serial_key), row.number)
            if first != row.number:
                findings.fault(row.number, "serial", row.serial, f"the same serial stands on row {first}")
        if row.tag_key:
            first = tags.setdefault(row.tag_key, row.number)
            if first != row.number:
                findings.fault(row.number, "tag", row.tag, f"the same tag stands on row {first}")
