"""Cells of an items file to values; what a row by itself shows to be wrong."""

from datetime import date

import pytest

from gearlife.domain.intake.item_rows import doubt_of_this_year
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Kind
from tests.factories import DAY
from tests.gearlife.intake.club_files import helmet, read


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("helmet", Kind.HELMET),
        (" HELMET ", Kind.HELMET),
        ("Shoulder Pads", Kind.SHOULDER_PADS),
        ("SHOULDER_PADS", Kind.SHOULDER_PADS),
        ("shoulder-pads", Kind.SHOULDER_PADS),
    ],
)
def test_a_kind_is_read_by_its_normal_form(cell: str, kind: Kind) -> None:
    rows, lines, _ = read(helmet(kind=cell))
    assert (rows[0].kind, lines) == (kind, [])


def test_an_unknown_kind_names_the_two() -> None:
    assert read(helmet(kind="pads"))[1] == ["row 2, kind, 'pads': write helmet or shoulder_pads"]


def test_maker_and_model_must_be_filled_in() -> None:
    assert read(helmet(manufacturer=" ", model=""))[1] == [
        "row 2, manufacturer, '': this must be filled in",
        "row 2, model, '': this must be filled in",
    ]


@pytest.mark.parametrize("written", ["2021", "2021-03", "2021-03-09"])
def test_a_date_of_manufacture_is_a_year_a_month_or_a_day(written: str) -> None:
    rows, lines, _ = read(helmet(made_on=written))
    assert (str(rows[0].made_on), lines) == (written, [])


@pytest.mark.parametrize(
    ("written", "words"), [("2026-11", "made in the future"), ("2027", "made in the future"), ("soon", "write a year")]
)
def test_a_date_of_manufacture_that_cannot_be_is_a_fault(written: str, words: str) -> None:
    [line] = read(helmet(made_on=written))[1]
    assert line.startswith(f"row 2, made_on, '{written}': ")
    assert words in line


@pytest.mark.parametrize("column", ["certified_on", "acquired_on"])
@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("2025", "give the full day"),
        ("2025-03", "give the full day"),
        ("2026-10-15", "in the future"),
        ("soon", "write a year"),
    ],
)
def test_certified_and_acquired_are_full_days_not_in_the_future(column: str, written: str, words: str) -> None:
    [line] = read(helmet(**{column: written}))[1]
    assert words in line


@pytest.mark.parametrize("column", ["certified_on", "acquired_on"])
@pytest.mark.parametrize(
    ("made_on", "day", "is_doubtful"),
    [
        ("2021", "2021-01-01", False),
        ("2021", "2020-12-31", True),
        ("2021-03", "2021-03-01", False),
        ("2021-03", "2021-02-28", True),
        ("2021-03-09", "2021-03-08", True),
        ("2021-03-09", "2021-03-09", False),
    ],
)
def test_made_is_later_than_another_day_when_its_earliest_day_is(
    column: str, made_on: str, day: str, is_doubtful: bool
) -> None:
    lines = read(helmet(made_on=made_on, **{column: day}))[1]
    doubt = f"row 2, made_on, '{made_on}': doubtful: made later than {column} {day}"
    assert lines == ([doubt] if is_doubtful else [])


def test_a_full_day_of_this_year_is_doubtful_and_says_what_the_label_may_mean() -> None:
    doubt = doubt_of_this_year(PartialDate(2026, 6, 19), DAY)
    assert doubt == (
        "a full day of this year is what a spreadsheet makes of a label's 6/19; write what the label says: "
        "2019-06 if it says 6/19 for month and year, 2026-06 if it was made in that month"
    )


def test_a_day_that_is_no_year_of_a_label_is_doubtful_all_the_same() -> None:
    doubt = doubt_of_this_year(PartialDate(2026, 6, 30), DAY)
    assert doubt is not None
    assert doubt.endswith("write what the label says: 2026-06 if it was made in that month")


@pytest.mark.parametrize("made_on", [None, PartialDate(2026), PartialDate(2026, 6), PartialDate(2025, 6, 19)])
def test_a_month_of_this_year_and_a_day_of_another_are_not_doubtful(made_on: PartialDate | None) -> None:
    assert doubt_of_this_year(made_on, DAY) is None


@pytest.mark.parametrize("serial", ["1.2E+11", "1,2e+11", "1E+05", "4.5E10"])
def test_a_serial_that_a_spreadsheet_rounded_is_refused(serial: str) -> None:
    assert read(f'"{serial}",helmet,Oakshell,Dome')[1] == [
        f"row 2, serial, '{serial}': a spreadsheet has rounded this number; format the column as text and type it again"
    ]


def test_a_serial_with_an_e_among_its_digits_is_a_serial() -> None:
    assert read(helmet(serial="12E45"))[1] == []


@pytest.mark.parametrize("column", ["serial", "tag"])
@pytest.mark.parametrize("odd", ["\x07", "\u200b", "\u202e", "\ud800", "\x00"])
def test_an_invisible_character_in_a_serial_or_tag_is_refused(column: str, odd: str) -> None:
    [line] = read(helmet(**{column: f"A{odd}1"}))[1]
    assert f"it holds the invisible character U+{ord(odd):04X}" in line


@pytest.mark.parametrize(
    ("column", "longest"),
    [("serial", 64), ("tag", 32), ("manufacturer", 80), ("model", 80), ("size", 24), ("colour", 40), ("notes", 500)],
)
def test_a_cell_is_no_longer_than_its_column_also_in_its_normal_form(column: str, longest: int) -> None:
    assert read(helmet(**{column: "x" * longest}))[1] == []
    # In capitals one sharp s is two letters.
    for too_long in ("x" * (longest + 1), "ß" * longest):
        [line] = read(helmet(**{column: too_long}))[1]
        assert line.endswith(f"it is longer than {longest} characters")


def test_a_row_with_neither_serial_nor_tag_is_bad() -> None:
    assert read(helmet(serial=""))[1] == [
        "row 2, serial, '': neither serial nor tag; give the item a club tag, marked so, and write it here"
    ]


def test_a_serial_stands_on_one_row_of_its_maker_whatever_its_case() -> None:
    _, lines, _ = read(
        helmet(serial="ak-1"), helmet(serial="b"), helmet(serial=" AK-1 "), helmet(serial="AK-1", manufacturer="Other")
    )
    assert lines == ["row 4, serial, 'AK-1': the same serial stands on row 2"]


def test_a_tag_stands_on_one_row() -> None:
    _, lines, _ = read(helmet(serial="a", tag="h 1"), helmet(serial="b", tag="H  1"))
    assert lines == ["row 3, tag, 'H  1': the same tag stands on row 2"]


@pytest.mark.parametrize("formula", ["=1+1", "+cmd", "-2", "@SUM(A1)", "＝1"])
def test_a_cell_like_a_formula_stays_text_and_is_noted(formula: str) -> None:
    rows, lines, notes = read(helmet(notes=formula))
    assert (rows[0].notes, lines) == (formula, [])
    assert notes == [f"row 2, notes, '{formula}': looks like a formula; kept as the text that it is"]


def test_a_line_break_inside_a_note_becomes_a_blank() -> None:
    assert read('A,helmet,Oakshell,Dome,,,,,,,,"one\r\ntwo"')[0][0].notes == "one two"


def test_a_firm_without_the_day_of_its_certification_is_bad() -> None:
    assert read(helmet(certified_by="Riverside Recon"))[1] == [
        "row 2, certified_on, '': certified_by names a firm: give the day of its certification too"
    ]


def test_every_fault_of_every_row_comes_in_one_pass() -> None:
    _, lines, _ = read(
        helmet(kind="x", made_on="y"), helmet(serial="b"), helmet(serial="", model="", acquired_on=str(date.max))
    )
    assert [line.split(",")[:2] for line in lines] == [
        ["row 2", " kind"],
        ["row 2", " made_on"],
        ["row 4", " serial"],
        ["row 4", " model"],
        ["row 4", " acquired_on"],
    ]
