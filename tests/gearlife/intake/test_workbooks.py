"""XLSX to records: text as it stands, days as ISO days, numbers as typed; what is too large or broken is refused."""

import io
import struct
from datetime import date, datetime, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.reader.excel import load_workbook

from gearlife.domain.intake import workbook as reading
from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.files import read_file
from gearlife.models import Club, Item
from tests.factories import ClubFactory
from tests.gearlife.intake.club_files import GOOD, HEADINGS, fault_lines, taken_in
from tests.gearlife.intake.workbooks import Cell, with_part, workbook

SHEET = "xl/worksheets/sheet1.xml"
SPOILT = [
    "row 3, serial, '12399': doubtful: shorter than '0012345' on row 2: has a spreadsheet taken zeros",
    "row 4, serial, '1.2E+11': a spreadsheet has rounded this number; format the column as text and type it again",
    "row 5, made_on, '2026-06-19': doubtful: a full day of this year is what a spreadsheet makes of a label's 6/19;",
    "row 6, made_on, '44256': this looks like a spreadsheet's number of a day: 2021-03-01, if it counts from 1900;",
    "row 7, size, '2026-08-07': a spreadsheet has taken this size for a day; format the column as text",
]
HEADS = HEADINGS.split(",")


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        *(("00123", "00123"), ("=1+1", "=1+1"), (" x ", " x "), ("", "")),
        *((7.0, "7"), (2021, "2021"), (7.5, "7.5"), (0.1 + 0.2, "0.3"), (True, "TRUE"), (-3, "-3")),
        *((12345678901, "12345678901"), (123456789012, "123456789012"), (731000000012, "731000000012")),
        *((120000000000, "1.2E+11"), (731200000000, "7.312E+11"), (1e15, "1E+15"), (1234567890123456, "1.23457E+15")),
        *((date(2021, 3, 9), "2021-03-09"), (datetime(2021, 3, 9, 12, 30), "2021-03-09"), (time(12, 30), "12:30:00")),
    ],
)
def test_a_cell_becomes_the_text_that_somebody_would_have_typed(cell: Cell, text: str) -> None:
    assert read_file(workbook(["a"], ["b", cell])).rows[1:] == [["b", text]]


def test_rows_keep_the_numbers_that_the_spreadsheet_shows() -> None:
    rows = read_file(workbook([], [None, "serial"], [], [None, "A"])).rows
    assert rows == [["", ""], ["", "serial"], ["", ""], ["", "A"]]


@pytest.mark.parametrize("number_format", ["yyyy-mm-dd", "m/d/yy", "d. mmmm yyyy", "mmm-yy", "[$-409]dd-mmm-yy;@"])
@pytest.mark.parametrize("date_1904", [False, True])
def test_a_day_is_the_same_day_however_it_is_shown(number_format: str, date_1904: bool) -> None:
    data = workbook(
        ["a"], [date(2021, 3, 4)], number_format=number_format, default_date_format=None, date_1904=date_1904
    )
    assert read_file(data).rows[1] == ["2021-03-04"]


@settings(max_examples=60, deadline=None)
@given(
    day=st.dates(date(1901, 1, 1), date(2099, 12, 31)),
    number=st.floats(-1e9, 1e9, width=32),
    text=st.text("ab 01=-\u00e9", max_size=9),
)
def test_openpyxl_reads_the_same_cells(day: date, number: float, text: str) -> None:
    data = workbook(["a", "b", "c"], [day, number, text])
    [_, (theirs_day, theirs_number, theirs_text)] = load_workbook(io.BytesIO(data)).active.values
    ours = read_file(data).rows[1]
    assert ours[0] == theirs_day.date().isoformat()
    assert float(ours[1]) == pytest.approx(float(theirs_number), rel=1e-5)
    assert ours[2] == (theirs_text or "")


def test_the_first_sheet_with_anything_in_it_is_read_and_the_others_are_named() -> None:
    records = read_file(workbook(sheets={"List": [["serial"], ["A"]], "Old": [["x"]], "Older": [["y"]]}))
    assert records.rows == [["serial"], ["A"]]
    assert records.notes == ["only the sheet 'List' of this workbook was read, and not 'Old', 'Older'"]


@pytest.mark.django_db
def test_a_workbook_is_taken_in_like_the_same_csv(club: Club) -> None:
    cells: list[list[Cell]] = [
        [
            "AK-1001",
            "helmet",
            "Oakshell",
            "Dome 2",
            "L",
            "2021-03",
            date(2026, 2, 10),
            "Riverside Recon",
            date(2021, 5, 1),
            None,
            "red",
            "first team",
        ]
    ]
    assert taken_in(workbook(HEADS, *cells), club).added == 1
    assert taken_in(GOOD, club).unchanged == 1
    assert Item.objects.get(serial="AK-1001").acquired_on == date(2021, 5, 1)


@pytest.mark.django_db
def test_what_a_workbook_made_of_serials_and_labels_is_refused_row_by_row(club: Club) -> None:
    def row(serial: Cell, made_on: Cell = "2021-03", size: Cell = "L") -> list[Cell]:
        return [serial, "helmet", "Oakshell", "Dome 2", size, made_on]

    lines = fault_lines(
        workbook(
            HEADS[:6],
            row("0012345"),
            row(12399),
            row(1.2e11),
            row("A-1", date(2026, 6, 19)),
            row("A-2", 44256),
            row("A-3", size=date(2026, 8, 7)),
        ),
        club,
    )
    assert [line[: len(begins)] for line, begins in zip(lines, SPOILT, strict=True)] == SPOILT
    assert not Item.objects.exists()


@pytest.mark.parametrize(
    "data",
    [
        b"PK\x03\x04",
        workbook(["a"])[:2000],
        with_part(workbook(["a"]), SHEET, b"<worksheet><sheetData><row><c r="),
        with_part(workbook(["a"]), "xl/workbook.xml", b"no xml at all <"),
    ],
)
def test_a_broken_workbook_is_refused_politely(data: bytes) -> None:
    with pytest.raises(IntakeRefusedError, match=r"cannot be opened|archive"):
        read_file(data)


def test_another_programs_archive_is_refused_by_what_it_is() -> None:
    data = with_part(workbook(["a"]), "x", b"").replace(b"xl/workbook.xml", b"word/documentxl")
    with pytest.raises(IntakeRefusedError, match="archive or a file of another program"):
        read_file(data)


def test_a_workbook_that_unfolds_to_too_much_is_refused_before_it_is_unfolded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_UNPACKED", 1_000_000)
    bomb = with_part(workbook(["a"]), "xl/sharedStrings.xml", b" " * 1_000_000)
    assert len(bomb) < 20_000
    with pytest.raises(IntakeRefusedError, match="unfolds to more than"):
        read_file(bomb)


def test_a_workbook_that_lies_about_how_much_it_unfolds_to_is_refused() -> None:
    data = with_part(workbook(["a"]), "xl/sharedStrings.xml", b" " * 1_000_000)
    size = struct.pack("<I", 1_000_000)
    assert data.count(size) == 2
    with pytest.raises(IntakeRefusedError, match="cannot be opened"):
        read_file(data.replace(size, struct.pack("<I", 10)))


@pytest.mark.parametrize(
    ("cell", "is_refused"), [("XFD1", True), ("BA2", True), ("A200001", True), ("A1048576", True), ("AZ2", False)]
)
def test_one_cell_in_a_far_corner_is_refused_before_a_sheet_of_that_size_is_made(cell: str, is_refused: bool) -> None:
    cells = f'<c r="A1"><v>1</v></c><c r="{cell}"><v>1</v></c>'
    xml = f'<worksheet><sheetData><row r="1">{cells}</row></sheetData></worksheet>'
    data = with_part(workbook(["a"]), SHEET, xml.encode())
    if is_refused:
        with pytest.raises(IntakeRefusedError, match="wider than 52 columns or longer than 200,000 rows"):
            read_file(data)
    else:
        assert read_file(data).rows[0][0] == "1"


def test_a_row_that_is_only_coloured_to_the_end_is_no_far_cell() -> None:
    rows = b'<row r="1"><c r="A1"><v>1</v></c><c r="XFD1" s="1"/></row><row r="1048576" hidden="1"/>'
    xml = b"<worksheet><sheetData>" + rows + b"</sheetData></worksheet>"
    assert read_file(with_part(workbook(["a"]), SHEET, xml)).rows == [["1"]]


def test_a_formula_counts_as_the_value_that_it_shows_and_an_error_as_nothing() -> None:
    cells = b'<c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="C1"><v>3</v></c>'
    xml = b'<worksheet><sheetData><row r="1">' + cells + b"</row></sheetData></worksheet>"
    assert read_file(with_part(workbook(["a"]), SHEET, xml)).rows == [["2", "", "3"]]


def test_a_far_cell_is_found_wherever_a_block_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    xml = b"<worksheet><sheetData>" + b" " * 5000 + b'<row r="1"><c r="XFD1"><v>1</v></c></row></sheetData></worksheet>'
    data = with_part(workbook(["a"]), SHEET, xml)
    for block in range(4990, 5060, 3):
        monkeypatch.setattr(reading, "BLOCK", block)
        with pytest.raises(IntakeRefusedError, match="wider than"):
            read_file(data)


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_a_workbook_changed_at_random_is_a_table_or_a_refusal(data: st.DataObject) -> None:
    whole = workbook(["serial", "kind"], ["a", 1.5, date(2021, 3, 4)], ["x", None, True])
    places = st.tuples(st.integers(0, len(whole) - 1), st.integers(0, 255))
    changed = bytearray(whole)
    for place, byte in data.draw(st.lists(places, min_size=1, max_size=4)):
        changed[place] = byte
    try:
        rows: object = read_file(bytes(changed)).rows
    except IntakeRefusedError as refused:
        rows = refused.detail
    assert rows
