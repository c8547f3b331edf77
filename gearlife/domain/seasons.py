"""Calendar arithmetic: months, seasons, and the last game to which every limit is read."""

import calendar
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from gearlife.domain.partial_dates import LAST_DAY


@dataclass(frozen=True, order=True)
class Season:
    """One season of a club; `ends_on` is the day of its last game."""

    starts_on: date
    ends_on: date
    year: int


def add_months(day: date, months: int) -> date:
    """Add months; a day that the month does not have becomes its last (W3C XML Schema Part 2, appendix E)."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    if year > LAST_DAY.year:
        return LAST_DAY
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def add_days(day: date, days: int) -> date:
    """Add days; the far end of the calendar is the latest answer."""
    return LAST_DAY if (LAST_DAY - day).days <= days else day + timedelta(days=days)


def after_season(seasons: Iterable[Season], year: int) -> date:
    """The day after the last game of the season `year`, else 1 January of the year after."""
    ends = [season.ends_on for season in seasons if season.year == year]
    if ends:
        return add_days(max(ends), 1)
    return date(year + 1, 1, 1) if year < LAST_DAY.year else LAST_DAY


def after_seasons(seasons: Sequence[Season], anchor: date, count: int) -> date:
    """The day after the last game of the `count`-th season that ends on or after `anchor`.

    Of seasons that were not entered there is one a calendar year, over on 1 January: no limit vanishes for want of one.
    """
    later = sorted(season for season in seasons if season.ends_on >= anchor)
    if len(later) >= count:
        return add_days(later[count - 1].ends_on, 1)
    before = max((season.year for season in seasons if season.ends_on < anchor), default=anchor.year - 1)
    known = later[-1].year if later else max(before, anchor.year - 1)
    return after_season((), known + count - len(later))


def in_season(seasons: Iterable[Season], anchor: date, days: int) -> date | None:
    """The day, inside a season, on which `days` counted from the anchor or the season's start are over."""
    for season in sorted(seasons):
        fall = add_days(max(anchor, season.starts_on), days)
        if fall <= season.ends_on:
            return fall
    return None


def season_of(seasons: Iterable[Season], day: date) -> int:
    """The year of the season in which a limit is reached that falls on `day`: the first whose last game is not before.

    So what falls in the winter counts for the season ahead. Of seasons that were not entered there is one a calendar
    year, over with the year.
    """
    known = list(seasons)
    calendar_year = day.year + any(season.year == day.year for season in known)
    return min([calendar_year, *(season.year for season in known if season.ends_on >= day)])
