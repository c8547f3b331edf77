"""Headings to a kind of file, records to rows of named cells."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from gearlife.domain.intake.faults import Findings, IntakeRefusedError
from gearlife.domain.intake.nearest import nearest
from gearlife.domain.intake.records import REMARKS, Records
from gearlife.domain.normal_form import normal_form


@dataclass(frozen=True)
class Sheet:
    """A kind of file: its columns in order, those that must be there, and those of which one must be."""

    of: str
    columns: tuple[str, ...]
    required: frozenset[str]
    one_of: tuple[str, ...] = ()

    def missing(self, present: Iterable[str]) -> list[str]:
        """What a file with these columns lacks, in words."""
        there = set(present)
        lacking = [column for column in self.columns if column in self.required - there]
        if self.one_of and not there & set(self.one_of):
            lacking.append(" or ".join(self.one_of))
        return lacking


@dataclass(frozen=True)
class Row:
    """One row that is not blank: its number in the spreadsheet, and its cells without outer blanks, by column."""

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True)
class Table:
    """A file read: what it is of, which columns it has, its rows; `tag_column` and `records` make the tagged copy."""

    sheet: Sheet
    places: Mapping[str, int]
    rows: Sequence[Row]
    records: Records

    @property
    def columns(self) -> frozenset[str]:
        """The known columns that the file has."""
        return frozenset(self.places)


def read_table(records: Records, sheets: Sequence[Sheet], findings: Findings, of: str | None = None) -> Table:
    """Recognise the file by its headings (or take it to be `of`) and name its cells; IntakeRefusedError when empty."""
    findings.faults += records.faults
    findings.notes += records.notes
    start = next((index for index, row in enumerate(records.rows) if _is_written(row)), None)
    if start is None:
        raise IntakeRefusedError("the file is empty", records.faults)
    headings = [heading.strip() for heading in records.rows[start]]
    sheet = _recognised(headings, sheets, of)
    places = _places(headings, sheet, start + 1, findings)
    rows = [
        _row(start + offset, record, headings, places, findings)
        for offset, record in enumerate(records.rows[start + 1 :], start=2)
        if _is_written(record)
    ]
    if not rows and not findings.faults:
        raise IntakeRefusedError(f"the file has the headings of {sheet.of}, and no row below them")
    return Table(sheet, places, rows, records)


def heading_form(heading: str) -> str:
    """The form in which headings are compared: case, blanks, hyphens and underscores never differ."""
    return re.sub(r"[\s_-]+", "", normal_form(heading)).lower()


def column_letter(index: int) -> str:
    """What a spreadsheet calls a column: A for 0, AA for 26."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _is_written(record: Sequence[str]) -> bool:
    return any(cell.strip() for cell in record)


def _recognised(headings: Sequence[str], sheets: Sequence[Sheet], of: str | None) -> Sheet:
    """The sheet with most of these headings; of several, the one that lacks least."""
    forms = {heading_form(heading) for heading in headings if heading}

    def fit(sheet: Sheet) -> tuple[int, int]:
        known = {column for column in sheet.columns if heading_form(column) in forms}
        return len(known), -len(sheet.missing(known))

    if of is not None:
        return next(sheet for sheet in sheets if sheet.of == of)
    best = max(sheets, key=fit)
    if fit(best)[0] == 0:
        known = "; ".join(f"{sheet.of}: {', '.join(sheet.columns)}" for sheet in sheets)
        raise IntakeRefusedError(f"the first row has no heading that is known here. Known headings of {known}")
    return best


def _places(headings: Sequence[str], sheet: Sheet, number: int, findings: Findings) -> dict[str, int]:
    """Where each known column stands; faults for what is unknown, doubled or missing."""
    forms = {heading_form(column): column for column in sheet.columns}
    places: dict[str, int] = {}
    listed = f"the columns of {sheet.of} are {', '.join(sheet.columns)}"
    for index, heading in enumerate(headings):
        column = forms.get(heading_form(heading))
        if not heading or heading_form(heading).startswith(heading_form(REMARKS)):
            continue
        if column is None:
            close = nearest(heading, sheet.columns)
            findings.fault(number, heading, heading, f"unknown heading, nearest known '{close}'; {listed}")
        elif column in places:
            words = f"this column is here twice, in {column_letter(places[column])} too"
            findings.fault(number, column, heading, words)
        else:
            places[column] = index
    for lacking in sheet.missing(places):
        findings.fault(number, lacking, "", f"this column is missing; {listed}")
    return places


def _row(
    number: int, record: Sequence[str], headings: Sequence[str], places: Mapping[str, int], findings: Findings
) -> Row:
    for index, cell in enumerate(record):
        if cell.strip() and (index >= len(headings) or not headings[index]):
            findings.fault(number, column_letter(index), cell, "this cell stands under no heading")
    cells = {column: record[index].strip() if index < len(record) else "" for column, index in places.items()}
    return Row(number, cells)
