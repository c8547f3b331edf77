"""Dates as labels give them: a year, a month or a day (EDTF level 0), kept as the interval of days that they mean."""

import calendar
import re
from dataclasses import dataclass
from datetime import date

# The moment of a clock whose date is unknown: the earliest there is, so that it always has fallen.
UNKNOWN_DAY = date.min
LAST_DAY = date.max

_FORM = re.compile(r"(\d{4})(?:-(\d\d)(?:-(\d\d))?)?", re.ASCII)
EARLIEST_YEAR = 1900


@dataclass(frozen=True)
class PartialDate:
    """A year, a month or a day; `earliest` and `latest` are the first and last day that it may be."""

    year: int
    month: int | None = None
    day: int | None = None

    @classmethod
    def parse(cls, text: str) -> "PartialDate":
        """Read `2021`, `2021-03` or `2021-03-09`; ValueError says what is wrong."""
        match = _FORM.fullmatch(text.strip())
        if not match:
            raise ValueError("write a year, a month or a day as 2021, 2021-03 or 2021-03-09")
        year, month, day = (int(part) if part else None for part in match.groups())
        if year is None or year < EARLIEST_YEAR:
            raise ValueError(f"the year is before {EARLIEST_YEAR}")
        date(year, 1 if month is None else month, 1 if day is None else day)
        return cls(year, month, day)

    @property
    def earliest(self) -> date:
        """The first day that it may be; limits count from here."""
        return date(self.year, self.month or 1, self.day or 1)

    @property
    def latest(self) -> date:
        """The last day that it may be."""
        month = self.month or 12
        return date(self.year, month, self.day or calendar.monthrange(self.year, month)[1])

    def __str__(self) -> str:
        """Write it as EDTF."""
        return "-".join(f"{part:02d}" for part in (self.year, self.month, self.day) if part is not None)
