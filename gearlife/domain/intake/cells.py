"""Cells to values: text, numbers, days. Nothing here raises; what cannot be read is a fault with the way out."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from gearlife.domain.intake.days import read_day
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.records import FORMULA_BEGINS
from gearlife.domain.intake.table import Row
from gearlife.domain.normal_form import CONTROL, INVISIBLE, first_of, normal_form
from gearlife.domain.partial_dates import PartialDate

# Joined by blanks in a name or a note: a line break inside a cell is no fault.
BREAKS = re.compile(r"[\t\r\n]+")
# 123456789012 in a narrow column becomes 1.2E+11, and the digits are gone.
SCIENTIFIC = re.compile(r"\d(?:[.,]\d+)?E\+\d+|\d[.,]\d+E-?\d+", re.ASCII | re.IGNORECASE)
# Of a longer number a spreadsheet keeps fifteen digits, and writes zeros for the rest.
DIGITS_GONE = re.compile(r"[1-9]\d{14}0+", re.ASCII)
WHOLE = re.compile(r"(\d{1,9})(?:[.,]0+)?", re.ASCII)
DECIMAL = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?", re.ASCII)
UNITS_IN_MM = {"metres": 1000.0, "centimetres": 10.0, "inches": 25.4}
# What a spreadsheet makes of 7-8 or 3-1: a day, shown in one of these ways.
TAKEN_FOR_A_DAY = re.compile(r"\d{4}-\d\d-\d\d|\d{1,2}-[a-z]{3}(-\d\d)?|[a-z]{3}-\d\d", re.ASCII | re.IGNORECASE)
EARLIEST_YEAR = 1900


@dataclass
class CellReader:
    """Reads the cells of one row; what is empty or cannot be read gives an empty text or None."""

    row: Row
    findings: Findings
    # Columns whose values no fault repeats: what was measured of a person is told to nobody who reads a refusal.
    hidden: frozenset[str] = frozenset()

    def raw(self, column: str) -> str:
        """The cell as it stands, without outer blanks."""
        return self.row.cells.get(column, "")

    def _told(self, column: str) -> str:
        """The cell as a fault repeats it."""
        return "" if column in self.hidden else self.raw(column)

    def fault(self, column: str, reason: str) -> None:
        """A fault of this cell."""
        self.findings.fault(self.row.number, column, self._told(column), reason)

    def doubt(self, column: str, reason: str) -> None:
        """A doubt about this cell."""
        self.findings.doubt(self.row.number, column, self._told(column), reason)

    def note(self, column: str, words: str) -> None:
        """A note on this cell."""
        self.findings.note(self.row.number, column, self._told(column), words)

    def text(self, column: str, longest: int, *, required: bool = False) -> str:
        """Words of at most `longest` characters, also in their normal form."""
        text = BREAKS.sub(" ", self.raw(column))
        if required and column in self.row.cells and not normal_form(text):
            self.fault(column, "this must be filled in")
        return text if self._fits(column, text, longest, CONTROL) else ""

    def code(self, column: str, longest: int) -> str:
        """A serial or tag: words in which nothing invisible stands and that no spreadsheet has rounded."""
        text = self.raw(column)
        if SCIENTIFIC.fullmatch(text) or DIGITS_GONE.fullmatch(text):
            self.fault(column, "a spreadsheet has rounded this number; format the column as text and type it again")
            return ""
        if TAKEN_FOR_A_DAY.fullmatch(text):
            self.doubt(column, "this is what a spreadsheet makes of a text that it takes for a day; is it the serial?")
        return text if self._fits(column, text, longest, INVISIBLE) else ""

    def size(self, column: str, longest: int) -> str:
        """A size; a decimal comma becomes a point, so that 7,5 and 7.5 are one size."""
        text = self.raw(column)
        if TAKEN_FOR_A_DAY.fullmatch(text):
            self.fault(
                column, "a spreadsheet has taken this size for a day; format the column as text and type it again"
            )
            return ""
        return self.text(column, longest).replace(",", ".") if DECIMAL.fullmatch(text) else self.text(column, longest)

    def _fits(self, column: str, text: str, longest: int, refused: frozenset[str]) -> bool:
        if odd := first_of(text, refused):
            self.fault(column, f"it holds the invisible character {odd}")
            return False
        if max(len(text), len(normal_form(text))) > longest:
            self.fault(column, f"it is longer than {longest} characters")
            return False
        if text.startswith(FORMULA_BEGINS):
            self.note(column, "looks like a formula; kept as the text that it is")
        return True

    def whole(self, column: str, low: int, high: int) -> int | None:
        """A whole number from `low` to `high`."""
        text = self.raw(column)
        if not text:
            return None
        match = WHOLE.fullmatch(text)
        if match and low <= int(match[1]) <= high:
            return int(match[1])
        self.fault(column, f"write a whole number from {low} to {high}")
        return None

    def millimetres(self, column: str, low: int, high: int) -> int | None:
        """A length to the nearest millimetre; a number that fits in another unit is a fault that says which."""
        text = self.raw(column)
        if not DECIMAL.fullmatch(text):
            return self.whole(column, low, high)
        number = float(text.replace(",", "."))
        if low <= number <= high:
            return int(number + 0.5)
        fitting = {
            unit: round(number * factor) for unit, factor in UNITS_IN_MM.items() if low <= number * factor <= high
        }
        hints = "".join(f"; if these are {unit}, write {millimetres}" for unit, millimetres in fitting.items())
        self.fault(column, f"write millimetres from {low} to {high}{hints}")
        return None

    def partial_date(self, column: str) -> PartialDate | None:
        """A year, a month or a day, as labels (EDTF level 0) or spreadsheets write it."""
        text = self.raw(column)
        if not text:
            return None
        try:
            return read_day(text)
        except ValueError as error:
            self.fault(column, str(error))
        return None

    def day(self, column: str, today: date) -> date | None:
        """A full day, not in the future."""
        read = self.partial_date(column)
        if read is None:
            return None
        if read.day is None:
            self.fault(column, "give the full day, as 2021-03-09")
            return None
        if read.earliest > today:
            self.fault(column, "this day is in the future")
            return None
        return read.earliest

    def word(self, column: str, words: Mapping[str, str], *, form: str) -> str | None:
        """One of these words (form to word); `form` is the cell's own form."""
        if column in self.row.cells and form not in words:
            self.fault(column, f"write {' or '.join(words.values())}")
        return words.get(form)
