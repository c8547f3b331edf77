"""Cells to values: text, numbers, days. Nothing here raises; what cannot be read is a fault with the way out."""

import calendar
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.table import Row
from gearlife.domain.normal_form import normal_form
from gearlife.domain.partial_dates import PartialDate

# What a spreadsheet would run; full-width forms too (OWASP ASVS 1.2.10 names = + - @, tab, carriage return, NUL).
FORMULA_BEGINS = tuple("=+-@＝＋－＠")
CONTROL = frozenset({"Cc", "Cs"})
# Joined by blanks in a name or a note: a line break inside a cell is no fault.
BREAKS = re.compile(r"[\t\r\n]+")
INVISIBLE = CONTROL | {"Cf", "Co", "Cn", "Zl", "Zp"}
# 123456789012 in a narrow column becomes 1.2E+11, and the digits are gone.
SCIENTIFIC = re.compile(r"\d(?:[.,]\d+)?E\+\d+|\d[.,]\d+E-?\d+", re.ASCII | re.IGNORECASE)
WHOLE = re.compile(r"(\d{1,9})(?:[.,]0+)?", re.ASCII)
DECIMAL = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?", re.ASCII)
EDTF = re.compile(r"\d{4}(-\d\d){0,2}", re.ASCII)
MONTH_OF_YEAR = re.compile(r"(\d{1,2})[/.-](\d{2}|\d{4})", re.ASCII)
# What a spreadsheet shows of a label's 6/19 that it took for a day: 19-Jun or Jun-19.
DAY_AND_MONTH_NAME = re.compile(r"(\d{2})[- ]([a-z]{3})|([a-z]{3})[- ](\d{2})", re.ASCII | re.IGNORECASE)
MONTH_NAMES = {calendar.month_abbr[month].lower(): month for month in range(1, 13)}
SLASHED_DAY = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{2}|\d{4})", re.ASCII)
UNITS_IN_MM = {"metres": 1000.0, "centimetres": 10.0, "inches": 25.4}
# The same days stand on row after row.
_parsed = lru_cache(maxsize=4096)(PartialDate.parse)
HOW_TO_WRITE = "write a year, a month or a day as 2021, 2021-03 or 2021-03-09"
EARLIEST_YEAR = 1900


@dataclass
class CellReader:
    """Reads the cells of one row; what is empty or cannot be read gives an empty text or None."""

    row: Row
    findings: Findings

    def raw(self, column: str) -> str:
        """The cell as it stands, without outer blanks."""
        return self.row.cells.get(column, "")

    def fault(self, column: str, reason: str) -> None:
        """A fault of this cell."""
        self.findings.fault(self.row.number, column, self.raw(column), reason)

    def note(self, column: str, words: str) -> None:
        """A note on this cell."""
        self.findings.note(self.row.number, column, self.raw(column), words)

    def text(self, column: str, longest: int, *, required: bool = False) -> str:
        """Words of at most `longest` characters, also in their normal form."""
        text = BREAKS.sub(" ", self.raw(column))
        if required and column in self.row.cells and not normal_form(text):
            self.fault(column, "this must be filled in")
        return text if self._fits(column, text, longest, CONTROL) else ""

    def code(self, column: str, longest: int) -> str:
        """A serial or tag: words in which nothing invisible stands and that no spreadsheet has rounded."""
        text = self.raw(column)
        if SCIENTIFIC.fullmatch(text):
            self.fault(column, "a spreadsheet has rounded this number; format the column as text and type it again")
            return ""
        return text if self._fits(column, text, longest, INVISIBLE) else ""

    def _fits(self, column: str, text: str, longest: int, refused: frozenset[str] | set[str]) -> bool:
        # Nearly every cell is plain ASCII, in which nothing printable is invisible.
        plain = text.isascii() and text.isprintable()
        if not plain and (odd := next((c for c in text if unicodedata.category(c) in refused), None)):
            self.fault(column, f"it holds the invisible character U+{ord(odd):04X}")
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
        """A length in whole millimetres; a number that fits in another unit is a fault that says which."""
        text = self.raw(column)
        if not DECIMAL.fullmatch(text) or _in_range(text, low, high):
            return self.whole(column, low, high)
        number = float(text.replace(",", "."))
        fitting = {
            unit: round(number * factor) for unit, factor in UNITS_IN_MM.items() if low <= number * factor <= high
        }
        hints = "".join(f"; if these are {unit}, write {millimetres}" for unit, millimetres in fitting.items())
        self.fault(column, f"write whole millimetres from {low} to {high}{hints}")
        return None

    def partial_date(self, column: str) -> PartialDate | None:
        """A year, a month or a day (EDTF level 0)."""
        text = self.raw(column)
        if not text:
            return None
        try:
            return _parsed(text)
        except ValueError as error:
            self.fault(column, f"there is no such day ({error})" if EDTF.fullmatch(text) else _how_to_write(text))
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


def _in_range(text: str, low: int, high: int) -> bool:
    match = WHOLE.fullmatch(text)
    return bool(match and low <= int(match[1]) <= high)


def _how_to_write(text: str) -> str:
    """What to write instead; both days where it could be two."""
    if month_of_year := _month_of_year(text):
        return f"{HOW_TO_WRITE}; if this is month and year, write {month_of_year}"
    if match := SLASHED_DAY.fullmatch(text):
        first, second, year = int(match[1]), int(match[2]), int(_full_year(match[3]))
        days = dict.fromkeys(day for day in (_iso(year, first, second), _iso(year, second, first)) if day)
        if days:
            return f"{HOW_TO_WRITE}; this could be {' or '.join(days)}"
    return HOW_TO_WRITE


def _month_of_year(text: str) -> str | None:
    """The month that a label's 6/19, 06/2019, 19-Jun or Jun-19 may mean, as it is to be written."""
    month, year = 0, ""
    if match := MONTH_OF_YEAR.fullmatch(text):
        month, year = int(match[1]), match[2]
    elif match := DAY_AND_MONTH_NAME.fullmatch(text):
        month, year = MONTH_NAMES.get((match[2] or match[3]).lower(), 0), match[1] or match[4]
    return f"{_full_year(year)}-{month:02d}" if month in MONTH_NAMES.values() else None


def _full_year(year: str) -> str:
    """Of two digits, one of this century: no helmet of the last is in use."""
    return year if len(year) > 2 else f"20{year}"  # noqa: PLR2004 - a label's two digits


def _iso(year: int, month: int, day: int) -> str | None:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return None
