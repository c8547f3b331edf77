"""Bytes to text, text to records, headings to a kind of file."""

import pytest

from fitting.domain.intake import PLAYERS, WORN
from gearlife.domain.intake.faults import CellFault, Findings, IntakeRefusedError, shown
from gearlife.domain.intake.item_rows import ITEMS
from gearlife.domain.intake.records import csv_records, with_tags
from gearlife.domain.intake.table import Table, column_letter, read_table
from tests.gearlife.intake.club_files import HEADINGS, read

SHEETS = [ITEMS, PLAYERS, WORN]


def table_of(text: str, of: str | None = None) -> tuple[Table, list[CellFault]]:
    findings = Findings()
    return read_table(csv_records(text), SHEETS, findings, of), findings.faults


def test_rows_are_numbered_as_a_spreadsheet_shows_them() -> None:
    table, _ = table_of('serial,kind,manufacturer,model,notes\nA,,,,"one\ntwo\nthree"\n\n,,,,\nB,,,,\n')
    assert [(row.number, row.cells["serial"]) for row in table.rows] == [(2, "A"), (5, "B")]


def test_blank_rows_above_the_headings_are_counted() -> None:
    table, _ = table_of("\n\nserial,kind,manufacturer,model\nA,,,")
    assert [row.number for row in table.rows] == [4]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_any_usual_separator_and_line_ending_reads_alike(separator: str, ending: str) -> None:
    text = ending.join(
        separator.join(cells) for cells in (["serial", "kind", "manufacturer", "model"], ["A", "b", "c", "d"])
    )
    assert table_of(text)[0].rows[0].cells == {"serial": "A", "kind": "b", "manufacturer": "c", "model": "d"}


@pytest.mark.parametrize(
    ("headings", "of"),
    [
        ("serial,kind,manufacturer,model", "items"),
        ("Tag,KIND, Manufacturer ,MODEL", "items"),
        ("given_name,family_name", "players"),
        ("Given Name,FamilyName,birth-year,Team", "players"),
        ("serial,given_name,family_name,birth_year,since", "worn"),
        ("tag,given_name,family_name", "worn"),
    ],
)
def test_the_headings_tell_what_a_file_is_of(headings: str, of: str) -> None:
    table, faults = table_of(headings + "\nx")
    assert (table.sheet.of, faults) == (of, [])


def test_an_unknown_heading_is_a_fault_that_names_the_nearest_and_lists_all() -> None:
    _, faults = table_of("serial,kind,manufacturer,model,color\nA,,,,red")
    assert [fault.line for fault in faults] == [
        "row 1, color, 'color': unknown heading, nearest known 'colour'; the columns of items are "
        + ", ".join(ITEMS.columns)
    ]


def test_a_missing_heading_is_a_fault_of_its_own_and_not_one_of_every_row() -> None:
    _, lines, _ = read("A,helmet,Dome", "B,helmet,Dome", headings="serial,kind,model")
    assert len(lines) == 1
    assert lines[0].startswith("row 1, manufacturer, '': this column is missing")


def test_a_file_without_serial_and_tag_columns_lacks_one_of_them() -> None:
    _, faults = table_of("kind,manufacturer,model,size\nhelmet,Oakshell,Dome,L")
    assert [fault.column for fault in faults] == ["serial or tag"]


def test_a_heading_twice_is_a_fault_that_names_the_other_column() -> None:
    _, faults = table_of("serial,kind,manufacturer,model,Serial\nA,,,,B")
    assert faults[0].reason == "this column is here twice, in A too"


def test_a_cell_under_no_heading_is_a_fault_under_its_letter() -> None:
    _, faults = table_of("serial,kind,manufacturer,model\nA,helmet,Oakshell,Dome,stray")
    assert faults[0].line == "row 2, E, 'stray': this cell stands under no heading"


@pytest.mark.parametrize(("index", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")])
def test_columns_have_a_spreadsheets_letters(index: int, letters: str) -> None:
    assert column_letter(index) == letters


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("\n \n,,\n", "empty"),
        (HEADINGS, "no row below"),
        (HEADINGS + "\n\n,,,\n", "no row below"),
        ("shoes,laces\n1,2", "no heading that is known"),
    ],
)
def test_a_file_with_nothing_to_take_in_says_so(text: str, words: str) -> None:
    with pytest.raises(IntakeRefusedError, match=words):
        table_of(text)


def test_a_quotation_mark_that_is_never_closed_is_a_fault_of_its_row() -> None:
    _, faults = table_of('serial,kind,manufacturer,model\nA,helmet,Oakshell,Dome\nB,helmet,"Oakshell,Dome\nC,,,\n')
    assert [(fault.row, fault.reason) for fault in faults] == [
        (3, "a quotation mark is opened from here on and never closed")
    ]


def test_what_is_asked_for_is_read_even_where_the_headings_fit_something_else() -> None:
    _, faults = table_of("given_name,family_name\nx,y", of="items")
    assert {fault.row for fault in faults} == {1}


def test_a_fault_is_one_printable_line() -> None:
    line = CellFault(7, "made_on", "a\nb\x1b" + "x" * 200, "why").line
    assert line == r"row 7, made_on, 'a\nb\x1b" + "x" * 72 + "...': why"
    assert shown("\ud800") == r"\ud800"


def test_the_copy_with_tags_has_the_same_rows_and_cells_but_for_the_tags() -> None:
    records = csv_records('\nkind;model;"no;tes"\nhelmet;Dome;"a\r\nb"\n\npads\n')
    copy = csv_records(with_tags(records, None, [3, 5], iter(["T1", "T2"])))
    assert copy.separator == ";"
    assert copy.rows == [
        [],
        ["kind", "model", "no;tes", "tag"],
        ["helmet", "Dome", "a\r\nb", "T1"],
        [],
        ["pads", "", "", "T2"],
    ]
