"""Text to records: the one place that knows CSV. A record is the list of a row's cells."""

import csv
import io
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from gearlife.domain.intake.faults import CellFault, IntakeRefusedError

BOM = "\ufeff"
SEPARATORS = ",;\t"
# A spreadsheet's own line above the headings, which names the separator.
NAMED_SEPARATOR = re.compile(r'"?sep=([,;\t|])"?', re.ASCII | re.IGNORECASE)
UTF_16 = (b"\xff\xfe", b"\xfe\xff")
SAVE_AS = "save the sheet as XLSX or as CSV (UTF-8)"
# Letters of UTF-8 in a file that is not UTF-8 throughout: to read it in another coding would spoil them.
MANY_BYTES = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
NO_TEXT = re.compile(r"[\x00-\x08\x0e-\x1a\x1c-\x1f]")
# What a spreadsheet would run; full-width forms too (OWASP ASVS 1.2.10: = + - @, tab, carriage return, NUL).
FORMULA_BEGINS = tuple("=+-@＝＋－＠")
RUN = (*FORMULA_BEGINS, "\t", "\r", "\x00")
INERT = "'"
# Heads the column in which a copy says what is wrong: whoever mends the file need not take it out again.
REMARKS = "what is wrong"


@dataclass(frozen=True)
class Records:
    """Every row of a file, blank ones too: record `n` is the spreadsheet's row `n + 1`, whatever lines it spans."""

    rows: Sequence[Sequence[str]]
    separator: str = ","
    faults: list[CellFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def text_records(data: bytes) -> Records:
    """The records of a text file; IntakeRefusedError when it is binary or in another coding."""
    text, notes = _decoded(data)
    records = csv_records(text)
    records.notes.extend(notes)
    return records


def _decoded(data: bytes) -> tuple[str, list[str]]:
    """UTF-8 with or without its mark, else Windows-1252, and then a note that says so."""
    if data.startswith(UTF_16):
        raise IntakeRefusedError(f"this text is in UTF-16: {SAVE_AS}")
    notes = []
    try:
        text = data.decode()
    except UnicodeDecodeError as error:
        text = _by_windows_1252(data, error)
        notes = ["this file is not in UTF-8 and was read as Windows-1252; look at the names with accents"]
    if NO_TEXT.search(text):
        raise IntakeRefusedError(f"this is a binary file, not a table: {SAVE_AS}")
    return text, notes


def _by_windows_1252(data: bytes, error: UnicodeDecodeError) -> str:
    line = data.count(b"\n", 0, error.start) + 1
    if b"\x00" in data:
        raise IntakeRefusedError(f"this is a binary file, not a table: {SAVE_AS}")
    if MANY_BYTES.search(data):
        raise IntakeRefusedError(f"line {line} of this file is not in UTF-8, and other lines are: {SAVE_AS}") from error
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError as neither:
        line = data.count(b"\n", 0, neither.start) + 1
        words = f"line {line} of this file is neither in UTF-8 nor in Windows-1252: {SAVE_AS}"
        raise IntakeRefusedError(words) from neither


def csv_records(text: str) -> Records:
    """Split text into records (RFC 4180); where its quotation marks do not fit, the rows before it and a fault."""
    text = text.removeprefix(BOM)
    first, _, below = text.partition("\n")
    if named := NAMED_SEPARATOR.fullmatch(first.strip("\r ")):
        # The line itself stays a row, a blank one, so that the others keep their numbers.
        text = "\n" + below
    separator = named[1] if named else _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[list[str]] = []
    faults = []
    try:
        rows.extend([_active(cell) for cell in row] for row in reader)
    except csv.Error as error:
        faults.append(CellFault(len(rows) + 1, "-", "", _words(error)))
    return Records(rows, separator, faults)


def write_csv(rows: Sequence[Sequence[str]], separator: str) -> str:
    """The text of records, as `csv_records` reads it back; what a spreadsheet would run is written as text."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator).writerows([[_inert(cell) for cell in row] for row in rows])
    return out.getvalue()


def _inert(cell: str) -> str:
    return INERT + cell if cell.startswith(RUN) else cell


def _active(cell: str) -> str:
    """The cell without the sign that it was made inert by."""
    return cell[1:] if cell[:1] == INERT and cell.startswith(RUN, 1) else cell


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


def with_remarks(records: Records, faults: Iterable[CellFault]) -> str:
    """A copy of the file with what is wrong in each row beside it, in a column that no reading reads."""
    remarks: dict[int, list[str]] = defaultdict(list)
    for fault in faults:
        remarks[fault.row].append(f"{fault.column}: {fault.reason}")
    copy = [list(row) for row in records.rows]
    heading = next(index for index, row in enumerate(copy) if any(cell.strip() for cell in row))
    own = (index for index, cell in enumerate(copy[heading]) if cell.startswith(REMARKS))
    place = next(own, max(map(len, copy)))
    remarks[heading + 1] = [REMARKS, *remarks[heading + 1]]
    for number, row in enumerate(copy, start=1):
        if any(cell.strip() for cell in row):
            row.extend([""] * (place + 1 - len(row)))
            row[place] = "; ".join(remarks[number])
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
