"""Moments on a club's calendar, and as they are written."""

import re
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

# RFC 3339, section 5.6.
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)", re.ASCII | re.IGNORECASE)


def read_moment(text: str) -> datetime | None:
    """A moment as RFC 3339 writes it, in UTC; None for one without its offset and for anything else."""
    if not _MOMENT.fullmatch(text):
        return None
    try:
        return datetime.fromisoformat(text.upper()).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def local_day(at: datetime, timezone: str) -> date:
    """The day that a moment is on, in the club's time zone."""
    return at.astimezone(ZoneInfo(timezone)).date()


def first_moment(day: date, timezone: str) -> datetime:
    """The first moment of a day on the club's calendar."""
    return datetime.combine(day, time.min, ZoneInfo(timezone))


def start_of(day: date) -> datetime:
    """The first moment of a day, by UTC: fine enough where only a warning hangs on it."""
    return datetime.combine(day, time.min, UTC)
