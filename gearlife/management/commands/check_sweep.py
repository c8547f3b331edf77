"""`manage.py check_sweep`: the dead-man's switch, for cron: outside of worker and schedule, which it watches."""

from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from gearlife.management.prepared import PreparedCommand
from gearlife.operations.messages.late_sweeps import tell_late_sweeps
from gearlife.operations.outbox import drain
from gearlife.queries.sweeps import sweep_age, trouble


class Command(PreparedCommand):
    """Raise the alarm when a sweep is late."""

    help = (
        "Say how old the last complete sweep is. When it is over 26 hours old, mail the administrators (once a day) "
        "and exit with 1. It needs the database and the mail server and nothing else."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask, tell, deliver."""
        now = timezone.now()
        late = tell_late_sweeps(now)
        if not late:
            self.stdout.write(sweep_age(now).words)
            return
        drain(now)
        raise CommandError("\n".join(f"{each}: {age.words} {trouble(each.id)}".rstrip() for each, age in late))
