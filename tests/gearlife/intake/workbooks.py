"""Workbooks as spreadsheets write them, made by xlsxwriter."""

import io
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import xlsxwriter

Cell = str | float | date | datetime | time | bool | None


def workbook(
    *rows: Sequence[Cell],
    number_format: str = "yyyy-mm-dd",
    sheets: Mapping[str, Sequence[Sequence[Cell]]] | None = None,
    **options: Any,
) -> bytes:
    """A workbook whose first sheet has these rows; days are formatted as such, text stays text."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, **options}) as book:
        book.set_properties({"created": datetime(2026, 10, 14)})  # so that the same cells are the same bytes
        as_day = book.add_format({"num_format": number_format})
        for name, cells in {"Gear": rows, **(sheets or {})}.items():
            sheet = book.add_worksheet(name)
            for place, row in enumerate(cells):
                for column, cell in enumerate(row):
                    _write(sheet, place, column, cell, as_day)
    return out.getvalue()


def _write(sheet: Any, row: int, column: int, cell: Cell, as_day: Any) -> None:
    match cell:
        case None:
            return
        case str():
            sheet.write_string(row, column, cell)
        case date() | time():
            sheet.write_datetime(row, column, cell, as_day)
        case _:
            sheet.write(row, column, cell)


def with_part(data: bytes, name: str, content: bytes) -> bytes:
    """The workbook with one of its parts replaced or added."""
    out = io.BytesIO()
    with ZipFile(io.BytesIO(data)) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        for part in old.namelist():
            if part != name:
                new.writestr(part, old.read(part))
        new.writestr(name, content)
    return out.getvalue()
