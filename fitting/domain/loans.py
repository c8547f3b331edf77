"""A loan for a game: out and in on the same day; one that is still out on the next is overdue from that day's noon."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from gearlife.domain.days import local_day


def overdue_on(lent_at: datetime, timezone: str) -> date:
    """The day by whose noon it is asked for: the one after the day of the loan, on the club's calendar."""
    return local_day(lent_at, timezone) + timedelta(days=1)


def overdue_at(lent_at: datetime, timezone: str) -> datetime:
    """That noon."""
    return datetime.combine(overdue_on(lent_at, timezone), time(12), ZoneInfo(timezone))


def is_overdue(lent_at: datetime, timezone: str, day: date, at: datetime | None) -> bool:
    """Whether it is asked for on a day: on that of the noon itself only from noon on, where `at` is of that day."""
    due_on = overdue_on(lent_at, timezone)
    if at is None or local_day(at, timezone) != day:
        return due_on <= day
    return overdue_at(lent_at, timezone) <= at


def overdue_words(lent_on: date, due_on: date) -> str:
    """What an alert says from that noon on."""
    return f"Lent on {lent_on} for the day, and not logged in by noon on {due_on}: ask for it."
