"""Jobs: thin, idempotent, safe to lose and to run twice."""

from celery import shared_task
from django.utils import timezone

from gearlife.operations import sweep as sweeps
from gearlife.operations import waiting


@shared_task(name="gearlife.sweep")
def sweep() -> None:
    """Sweep for the day; several schedules sweep once."""
    sweeps.sweep_for_the_day(at=timezone.now())


@shared_task(name=waiting.TASK)
def do_what_waits() -> None:
    """Do what waits in the database; sent as a wake-up, and by the schedule."""
    waiting.do_what_waits(timezone.now())
