"""How long a session lasts: a fortnight unused, and never longer than ninety days. Moments are passed in."""

from datetime import datetime, timedelta

UNUSED = timedelta(days=14)
LONGEST = timedelta(days=90)
# Renewed no more than once a day: a session that were written at each request would wait for every other writer.
RENEWED_EVERY = timedelta(days=1)
TOLD_BEFORE = timedelta(days=7)


def lasts(began_at: datetime, now: datetime) -> timedelta:
    """How long it lasts from now on if it is not used any more; nothing when its longest time is over."""
    return max(timedelta(0), min(UNUSED, began_at + LONGEST - now))


def wants_renewal(used_at: datetime, now: datetime) -> bool:
    """Whether it was renewed a day ago or longer."""
    return now - used_at >= RENEWED_EVERY


def ends_soon(began_at: datetime, now: datetime) -> datetime | None:
    """The end of its longest time, when that is near enough to be told."""
    end = began_at + LONGEST
    return end if end - now <= TOLD_BEFORE else None
