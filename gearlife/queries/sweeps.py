"""How long ago every organisation's alerts were last swept whole."""

from datetime import datetime

from django.db.models import Max, Q

from gearlife.models import Organisation


def last_complete_sweep() -> datetime | None:
    """The oldest of the organisations' last complete sweeps; None when one was never swept, or there is none."""
    last = Organisation.objects.annotate(at=Max("sweeps__finished_at", filter=Q(sweeps__complete=True)))
    moments = list(last.values_list("at", flat=True))
    if not moments or None in moments:
        return None
    oldest: datetime = min(moments)
    return oldest
