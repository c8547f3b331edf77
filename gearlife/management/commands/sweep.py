"""`manage.py sweep`: one alert sweep now."""

from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from gearlife.management.prepared import PreparedCommand
from gearlife.operations.sweep import sweep_all
from gearlife.queries.sweeps import incomplete_words, sweep_age


class Command(PreparedCommand):
    """Sweep every organisation and print what opened, changed and closed."""

    help = "Bring the alerts into line with what the records say; running it twice changes nothing more."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the day."""
        parser.add_argument(
            "--today", type=date.fromisoformat, help="the day to sweep for, today or later, as 2026-11-25"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 1 when a sweep was not complete."""
        now = timezone.now()
        if options["today"] and options["today"] < (now - timedelta(days=1)).date():
            raise CommandError("A sweep for a day that is past would close alerts whose cause persists.")
        runs = sweep_all(at=now, today=options["today"])
        for run in runs:
            self.stdout.write(
                f"{run.organisation}: {run.items_examined} of {run.items_expected} items, "
                f"{run.opened} alerts opened, {run.changed} changed, {run.closed} closed"
            )
            if run.unforeseen:
                self.stdout.write(f"  {run.unforeseen} of these the nightly sweeps had missed: please report it.")
        self.stdout.write(sweep_age(timezone.now()).words)
        if incomplete := [run for run in runs if not run.complete]:
            raise CommandError("; ".join(f"{run.organisation}: {incomplete_words(run)}" for run in incomplete))
