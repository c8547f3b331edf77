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


def overdue_words(lent_on: date, due_on: date) -> str:
    """What an alert says; true before that noon and after it."""
    return f"Lent on {lent_on} for the day, and not logged in: have it back by noon on {due_on}."
