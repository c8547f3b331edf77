"""Jobs: thin, idempotent, safe to lose and to run twice."""

from celery import shared_task
from django.utils import timezone

from fitting.operations.retention import retain_for_the_day


@shared_task(name="fitting.retention")
def retention() -> None:
    """Take away what is kept no longer; several schedules run once a day."""
    retain_for_the_day(at=timezone.now())
