"""The API's one reading of the clock; whatever lies below is told the moment."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from gearlife.domain.access import Actor, Stamp


def now() -> datetime:
    """The present moment, aware."""
    return timezone.now()


def stamp_of(actor: Actor, calendar: str | None = None, device_time: datetime | None = None) -> Stamp:
    """By whom and when; the day is read on `calendar` (an IANA time zone), else on the actor's own.

    `device_time` is what the sender's own clock showed while it sent.
    """
    at = now()
    day = at.astimezone(ZoneInfo(calendar or actor.timezone)).date()
    return Stamp(actor=actor, at=at, day=day, device_ahead=(device_time or at) - at)
