"""Moments on a club's calendar."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo


def local_day(at: datetime, timezone: str) -> date:
    """The day that a moment is on, in the club's time zone."""
    return at.astimezone(ZoneInfo(timezone)).date()


def first_moment(day: date, timezone: str) -> datetime:
    """The first moment of a day on the club's calendar."""
    return datetime.combine(day, time.min, ZoneInfo(timezone))


def start_of(day: date) -> datetime:
    """The first moment of a day, by UTC: fine enough where only a warning hangs on it."""
    return datetime.combine(day, time.min, UTC)
