"""Move the demo club's days so that today is mid-season: full days by a span, months and years with their season."""

from dataclasses import dataclass
from datetime import date, timedelta

from gearlife.domain.partial_dates import PartialDate

# A year stands for its season, which begins in August; a month for its middle.
SEASON_MONTH = 8
MIDDLE = 15


@dataclass(frozen=True)
class Shift:
    """The span from the day that the data was written around to today, and the same in whole years."""

    span: timedelta
    years: int

    @classmethod
    def between(cls, base_day: date, today: date) -> "Shift":
        """The shift that brings `base_day` to `today`; every year moves as the season of the base day does."""
        span = today - base_day
        return cls(span, (date(base_day.year, SEASON_MONTH, 1) + span).year - base_day.year)

    def day(self, day: date) -> date:
        """A full day, moved by the span."""
        return day + self.span

    def text(self, text: str) -> str:
        """A date as files write it: empty, a year, a month or a day; as precise after as before."""
        if not text:
            return ""
        partial = PartialDate.parse(text)
        if partial.day:
            return self.day(partial.earliest).isoformat()
        if partial.month:
            return self.day(date(partial.year, partial.month, MIDDLE)).isoformat()[:7]
        return str(self.year(partial.year))

    def year(self, year: int) -> int:
        """A year, moved by whole years, so that two seasons never become one."""
        return year + self.years
