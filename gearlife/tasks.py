"""Jobs: thin, idempotent, safe to lose and to run twice."""

from datetime import timedelta

from celery import shared_task
from django.utils import timezone

from gearlife.operations.sweep import sweep_all
from gearlife.queries.sweeps import last_complete_sweep

DUE_AFTER = timedelta(hours=24)


@shared_task(name="gearlife.sweep")
def sweep() -> None:
    """Sweep now."""
    sweep_all(at=timezone.now())


@shared_task(name="gearlife.sweep_if_due")
def sweep_if_due() -> None:
    """Sweep when the last complete one is a day old, or there was none."""
    now = timezone.now()
    last = last_complete_sweep()
    if last is None or now - last > DUE_AFTER:
        sweep_all(at=now)
