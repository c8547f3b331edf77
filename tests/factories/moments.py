"""The fixed moment of the tests, in the middle of the season, and who acts when."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.days import local_day
from gearlife.models import Organisation
from gearlife.operations import organisations

ZONE = "America/Chicago"
# 11 in the morning in Chicago, a Wednesday in mid-season.
AT = datetime(2026, 10, 14, 16, 0, tzinfo=UTC)
DAY = date(2026, 10, 14)
SEASON_BEGINS, LAST_GAME = date(2026, 8, 15), date(2026, 12, 5)


def noon(day: date) -> datetime:
    """Noon in Chicago, by standard time, as an aware moment."""
    return datetime.combine(day, time(18), UTC)


def stamp(actor: Actor | Organisation, at: datetime = AT) -> Stamp:
    """By whom (an actor, or the organisation's own machine) and when; the day is read in the actor's time zone."""
    if isinstance(actor, Organisation):
        return organisations.own_stamp(actor, at)
    return Stamp(actor, at, local_day(at, actor.timezone))


def later(earlier: Stamp, **span: int) -> Stamp:
    """The same actor some time later: `later(stamp, days=3)`."""
    at = earlier.at + timedelta(**span)
    return replace(earlier, at=at, day=local_day(at, earlier.actor.timezone))
