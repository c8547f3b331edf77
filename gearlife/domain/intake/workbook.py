"""XLSX to records: what is in the file is measured before it is unfolded, then each cell becomes the text it shows.

A few thousand bytes can unfold to gigabytes, and one cell in the far corner makes a sheet of sixteen thousand million.
"""

import io
import re
import zlib
from collections.abc import Sequence
from datetime import date, datetime
from zipfile import BadZipFile, ZipFile

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.records import Records

ZIP = b"PK\x03\x04"
WORKBOOK = "xl/workbook.xml"
MOST_UNPACKED = 400 * 1024 * 1024
MOST_ROWS = 200_000
MOST_COLUMNS = 52
BLOCK = 1024 * 1024
# The name of a cell beyond row 199,999 or column AZ.
FAR = re.compile(rb"""\br=["'](?:[A-Z]{0,3}(?:[2-9]\d{5}|\d{7,})|(?:[B-Z][A-Z]|[A-Z]{3})\d+)["']""")
# A cell with something in it; spreadsheets also write empty ones, for a row that is coloured to the end.
WRITTEN = re.compile(rb"<(?:\w+:)?c\s[^>]*[^/]>")
OVERLAP = 4096
# Excel keeps fifteen digits, and shows a number of twelve and more with at most six of them.
KEPT, SHOWN = 10**15, 6
FIRST_SHOWN_SHORT = 10**11
# What the unfolding raises on folders that are cut, changed or locked.
BROKEN = (BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError, ValueError)

Cell = int | float | str | bool | date | datetime | object


def is_workbook(data: bytes) -> bool:
    """Whether this is a folder of parts with a workbook in it; IntakeRefusedError when the folder is broken."""
    return WORKBOOK in _folder(data).namelist()


def workbook_records(data: bytes) -> Records:
    """The records of the first visible sheet with anything in it; IntakeRefusedError when it is too large or broken."""
    _measure(_folder(data))
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = [
            sheet.name
            for sheet in book.sheets_metadata
            if sheet.typ == SheetTypeEnum.WorkSheet and sheet.visible == SheetVisibleEnum.Visible
        ]
        written = [sheet for name in names if (sheet := book.get_sheet_by_name(name)).height]
        rows = [[_text(cell) for cell in row] for row in written[0].to_python(skip_empty_area=False)] if written else []
    except CalamineError as error:
        raise _broken() from error
    return Records(rows, notes=_note(written))


def _note(written: Sequence[CalamineSheet]) -> list[str]:
    if len(written) < 2:  # noqa: PLR2004 - more than one sheet
        return []
    others = ", ".join(f"'{sheet.name}'" for sheet in written[1:])
    return [f"only the sheet '{written[0].name}' of this workbook was read, and not {others}"]


def _folder(data: bytes) -> ZipFile:
    try:
        return ZipFile(io.BytesIO(data))
    except BROKEN as error:
        raise _broken() from error


def _measure(folder: ZipFile) -> None:
    """Unfold every part once, block by block, and keep nothing: what a folder says of its own sizes may be a lie."""
    if sum(part.file_size for part in folder.infolist()) > MOST_UNPACKED:
        raise IntakeRefusedError("this workbook unfolds to more than 400 MB: split it into several files")
    try:
        for part in folder.infolist():
            if _is_far(folder, part.filename):
                raise IntakeRefusedError(
                    f"a sheet of this workbook is wider than {MOST_COLUMNS} columns or longer than {MOST_ROWS:,} rows: "
                    "copy the table alone to a new workbook, or split it"
                )
    except BROKEN as error:
        raise _broken() from error


def _is_far(folder: ZipFile, name: str) -> bool:
    """Whether a sheet has a cell far out; blocks overlap, because one may end in the middle of a cell."""
    before = b""
    with folder.open(name) as part:
        while block := part.read(BLOCK):
            before += block
            if "worksheets/" in name and any(_is_written(before, match) for match in FAR.finditer(before)):
                return True
            before = before[-OVERLAP:]
    return False


def _is_written(block: bytes, far: "re.Match[bytes]") -> bool:
    begins, ends = block.rfind(b"<", 0, far.start()), block.find(b">", far.end())
    return ends > 0 and WRITTEN.fullmatch(block, begins, ends + 1) is not None


def _broken() -> IntakeRefusedError:
    return IntakeRefusedError("this workbook cannot be opened: is the file whole? Save it again as XLSX or as CSV")


def _text(cell: Cell) -> str:
    """A cell as text: days as ISO days, numbers as they are typed; one whose digits are gone as it is shown."""
    match cell:
        case str():
            return cell
        case bool():
            return str(cell).upper()
        case float() | int():
            return _number(cell)
        case datetime():
            return cell.date().isoformat()
        case date():
            return cell.isoformat()
    return str(cell)


def _number(number: float) -> str:
    if not number.is_integer():
        return f"{number:.15g}"
    digits = str(abs(int(number)))
    is_rounded = abs(number) >= KEPT or (abs(number) >= FIRST_SHOWN_SHORT and len(digits.rstrip("0")) <= SHOWN)
    if not is_rounded:
        return str(int(number))
    kept, _, exponent = f"{number:.5E}".partition("E")
    return f"{kept.rstrip('0').rstrip('.')}E{exponent}"
