"""The API's one reading of the clock; whatever lies below is told the moment."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from gearlife.domain.access import Actor, Stamp


def now() -> datetime:
    """The present moment, aware."""
    return timezone.now()


def stamp_of(actor: Actor, calendar: str | None = None) -> Stamp:
    """By whom and when; the day is read on `calendar` (an IANA time zone), else on the actor's own."""
    at = now()
    return Stamp(actor=actor, at=at, day=at.astimezone(ZoneInfo(calendar or actor.timezone)).date())
