"""Bytes to text, and text to records: the one place that knows CSV. A record is the list of a row's cells."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from gearlife.domain.intake.faults import CellFault, IntakeRefusedError

BOM = "\ufeff"
SEPARATORS = ",;\t"
NOT_TEXT = {
    b"PK\x03\x04": "this is a workbook or an archive, not text: save the sheet as CSV (UTF-8)",
    b"\xd0\xcf\x11\xe0": "this is an old workbook, not text: save the sheet as CSV (UTF-8)",
    b"\xff\xfe": "this text is in UTF-16: save it as CSV (UTF-8)",
    b"\xfe\xff": "this text is in UTF-16: save it as CSV (UTF-8)",
}


@dataclass(frozen=True)
class Records:
    """Every row of a file, blank ones too: record `n` is the spreadsheet's row `n + 1`, whatever lines it spans."""

    rows: Sequence[Sequence[str]]
    separator: str = ","
    faults: list[CellFault] = field(default_factory=list)


def decode(data: bytes) -> str:
    """The text of a file; IntakeRefusedError when it is binary, or not in UTF-8."""
    for beginning, words in NOT_TEXT.items():
        if data.startswith(beginning):
            raise IntakeRefusedError(words)
    if b"\x00" in data:
        raise IntakeRefusedError("this is a binary file, not text: save the sheet as CSV (UTF-8)")
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise IntakeRefusedError(f"line {line} of this file is not in UTF-8: save it as CSV (UTF-8)") from error


def csv_records(text: str) -> Records:
    """Split text into records; where its quotation marks do not fit, the rows before it and a fault."""
    text = text.removeprefix(BOM)
    separator = _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[list[str]] = []
    faults = []
    try:
        rows.extend(reader)
    except csv.Error as error:
        faults.append(CellFault(len(rows) + 1, "-", "", _words(error)))
    return Records(rows, separator, faults)


def write_csv(rows: Sequence[Sequence[str]], separator: str) -> str:
    """The text of records, as `csv_records` reads it back."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator).writerows(rows)
    return out.getvalue()


def with_tags(records: Records, column: int | None, rows: Sequence[int], tags: Iterator[str]) -> str:
    """A copy of the file with a tag in each of these rows (heading = 1); a `tag` column is added where it has none."""
    copy = [list(row) for row in records.rows]
    heading = next(index for index, row in enumerate(copy) if any(cell.strip() for cell in row))
    place = len(copy[heading]) if column is None else column
    if column is None:
        copy[heading].append("tag")
    for number in rows:
        row = copy[number - 1]
        row.extend([""] * (place + 1 - len(row)))
        row[place] = next(tags)
    return write_csv(copy, records.separator)


def _separator(text: str) -> str:
    heading = next((line for line in text.splitlines() if line.strip()), "")
    return max(SEPARATORS, key=heading.count)


def _words(error: csv.Error) -> str:
    match str(error):
        case "unexpected end of data":
            return "a quotation mark is opened from here on and never closed"
        case words if "field larger" in words:
            return "a cell is longer than any cell can be; is a quotation mark not closed?"
    return "the quotation marks of a cell do not fit: write one inside a cell as two"
