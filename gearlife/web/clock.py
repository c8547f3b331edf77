"""The pages' one reading of the clock; whatever lies below is told the moment."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from gearlife.domain.access import Actor, Stamp


def now() -> datetime:
    """The present moment, aware."""
    return timezone.now()


def today(calendar: str) -> date:
    """The present day on a calendar (an IANA time zone)."""
    return now().astimezone(ZoneInfo(calendar)).date()


def stamp_of(actor: Actor, calendar: str | None = None) -> Stamp:
    """By whom and when; the day is read on `calendar`, else on the actor's own."""
    at = now()
    return Stamp(actor=actor, at=at, day=at.astimezone(ZoneInfo(calendar or actor.timezone)).date())
