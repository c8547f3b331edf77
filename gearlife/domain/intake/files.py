"""Bytes to records, whatever program wrote them: a workbook (XLSX) or text (CSV); all else is refused by its name."""

from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.records import SAVE_AS, Records, text_records
from gearlife.domain.intake.workbook import MOST_COLUMNS, MOST_ROWS, ZIP, is_workbook, workbook_records

OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0"
LARGEST_MB = 100
LARGEST_BYTES = LARGEST_MB * 1024 * 1024


def read_file(data: bytes) -> Records:
    """The records of a file; IntakeRefusedError says what it is instead, and the way out."""
    if data.startswith(OLD_OR_LOCKED):
        raise IntakeRefusedError(f"this is a workbook of an old kind or with a password: {SAVE_AS}, without a password")
    if data.startswith(ZIP):
        if not is_workbook(data):
            raise IntakeRefusedError(f"this is an archive or a file of another program, not a table: {SAVE_AS}")
        records = workbook_records(data)
    else:
        records = text_records(data)
    if len(records.rows) > MOST_ROWS:
        raise IntakeRefusedError(f"this file has more than {MOST_ROWS:,} rows: split it into several files")
    if max(map(len, records.rows), default=0) > MOST_COLUMNS:
        raise IntakeRefusedError(
            f"this file has rows of more than {MOST_COLUMNS} cells: keep the table's columns alone"
        )
    return records


def refuse_too_large(size: int) -> None:
    """IntakeRefusedError for a file of so many bytes, before it is read."""
    if size > LARGEST_BYTES:
        raise IntakeRefusedError(f"the file is larger than {LARGEST_MB} MB: split it into several files")
