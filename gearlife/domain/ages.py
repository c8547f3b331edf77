"""How old gear is: whole years since it was made, by the calendar, and the days that part one year from the next."""

import calendar
from datetime import date
from enum import StrEnum

from gearlife.domain.partial_dates import EARLIEST_YEAR
from gearlife.domain.seasons import add_months

NOT_YET_MADE = -1


class By(StrEnum):
    """What an audit of gear is told apart by."""

    CLUB = "club"
    TEAM = "team"
    KIND = "kind"
    MODEL = "model"


class Made(StrEnum):
    """Whether the years since manufacture can be told."""

    KNOWN = "known"
    UNKNOWN = "unknown"
    LATER = "later"


def whole_years(made: date, day: date) -> int:
    """Whole years from the day of manufacture to `day`; -1 before it.

    A year is twelve months as every limit counts them: what was made on 29 February is a year older on 28 February of
    an ordinary year, so that an item is sixteen years old from the very day on which it reaches such a limit.
    """
    years = day.year - made.year
    return max(NOT_YET_MADE, years if add_months(made, 12 * years) <= day else years - 1)


def made_by(day: date, years: int) -> date:
    """The last day of manufacture of what is at least so many years old on `day`."""
    year = day.year - years
    last = calendar.monthrange(year, day.month)[1]
    ends_its_month = day.day == calendar.monthrange(day.year, day.month)[1]
    return date(year, day.month, last if ends_its_month else min(day.day, last))


def year_marks(day: date) -> list[date]:
    """`made_by` of no years, of one, and so on back to the earliest year that a label may give.

    What was made after mark n, and not after mark n - 1, is n - 1 years old; after the first it is not made yet.
    """
    return [made_by(day, years) for years in range(day.year - EARLIEST_YEAR + 1)]
