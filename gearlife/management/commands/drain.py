"""`manage.py drain`: deliver now what waits in the outbox, without Celery."""

from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.utils import timezone

from gearlife.management.prepared import PreparedCommand
from gearlife.models import OutboxMessage
from gearlife.operations.messages.digests import post_digests
from gearlife.operations.messages.late_sweeps import tell_late_sweeps
from gearlife.operations.outbox import drain, never_given_up


class Command(PreparedCommand):
    """Deliver what is due, and say what was sent, what failed and what goes on waiting."""

    help = (
        "Deliver the messages that are due, without broker and worker: fit for cron. Exits with 1 while a message that "
        "something must not be worn has reached nobody."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        """Drain until nothing more is due."""
        now = timezone.now()
        tell_late_sweeps(now)
        post_digests(now)
        drained = drain(now)
        for message in drained.done:
            self.stdout.write(f"{message.outcome.replace('_', ' ')}: {_named(message)}")
        for message in drained.failed:
            self.stdout.write(f"failed: {_named(message)} at attempt {message.attempts}: {message.last_error}")
        for message in OutboxMessage.objects.filter(dead_at__isnull=False).order_by("dead_at", "id"):
            self.stdout.write(f"given up: {_named(message)} on {message.dead_at:%Y-%m-%d}: {message.last_error}")
        waiting = OutboxMessage.objects.waiting()
        self.stdout.write(f"{len(drained.done)} done, {len(drained.failed)} failed, {waiting.count()} waiting")
        if settings.MAIL_DOMAIN_OF_NAMES:
            self.stdout.write(f"no mail server is set: mails are in {settings.MAIL_DIR}")
        stuck = waiting.undelivered(now).filter(kind__in=never_given_up()).order_by("not_before", "id")
        if found := [f"{_named(message)} ({message.last_error or 'not tried yet'})" for message in stuck]:
            raise CommandError("not delivered, and tried again: " + "; ".join(found))


def _named(message: OutboxMessage) -> str:
    return f"{message.kind} to {message.recipient.username}" if message.recipient else message.kind
