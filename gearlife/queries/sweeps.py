"""How long ago every organisation's alerts were last swept whole."""

from datetime import datetime
from uuid import UUID

from django.db.models import Max, Q

from gearlife.domain.sweep_age import SweepAge
from gearlife.models import Organisation


def last_complete_sweep(organisation_id: UUID | None = None) -> datetime | None:
    """The oldest of the organisations' (or one's) last complete sweeps; None when one never was, or there is none."""
    asked = Organisation.objects.all() if organisation_id is None else Organisation.objects.filter(id=organisation_id)
    last = asked.annotate(at=Max("sweeps__finished_at", filter=Q(sweeps__complete=True)))
    moments = list(last.values_list("at", flat=True))
    if not moments or None in moments:
        return None
    oldest: datetime = min(moments)
    return oldest


def sweep_age(at: datetime, organisation_id: UUID | None = None) -> SweepAge:
    """How old that is at a moment."""
    return SweepAge(last_complete_sweep(organisation_id), at)
