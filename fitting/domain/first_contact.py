"""The days on which somebody without gear that protects is named: from before the first contact to the last game."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

# Time enough to order and to fit (common practice, no source).
DAYS_BEFORE = 14
# What was handed out for a season was handed out at most so long before its first day, where none came before it.
RUN_UP = timedelta(days=180)


@dataclass(frozen=True)
class SeasonDays:
    """A season as far as it matters here; `first_contact_on` None is the first day."""

    starts_on: date
    ends_on: date
    first_contact_on: date | None = None

    @property
    def contact_on(self) -> date:
        """The day of the first contact."""
        return self.first_contact_on or self.starts_on


@dataclass(frozen=True)
class Contact:
    """The first contact that a day is near to or past: what was handed out since `since` is for this season."""

    on: date
    since: date


def contact_on(seasons: Iterable[SeasonDays], day: date) -> Contact | None:
    """The first contact of the season that a day belongs to; None out of season and long before it."""
    before: date | None = None
    for season in sorted(seasons, key=lambda each: each.starts_on):
        if season.contact_on - timedelta(days=DAYS_BEFORE) <= day <= season.ends_on:
            since = before + timedelta(days=1) if before else season.starts_on - RUN_UP
            return Contact(season.contact_on, max(since, season.starts_on - RUN_UP))
        before = season.ends_on
    return None


def is_over(seasons: Iterable[SeasonDays], day: date) -> bool:
    """Whether the last game is behind and the next season has not begun: now gear comes back."""
    known = list(seasons)
    return any(season.ends_on < day for season in known) and not any(
        season.starts_on <= day <= season.ends_on for season in known
    )
