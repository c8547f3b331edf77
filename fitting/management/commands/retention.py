"""`manage.py retention`: take away what is kept no longer, or say what would go."""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from fitting.domain.retention import Kept
from fitting.operations.retention import due_of, retain_all
from gearlife.management.prepared import PreparedCommand
from gearlife.models import Organisation


class Command(PreparedCommand):
    """Numbers by class alone: nobody is named."""

    help = "Take away what the organisations' rules keep no longer; with --dry-run nothing is written."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the day, and whether it is done."""
        parser.add_argument("--dry-run", action="store_true", help="only say what would go, by club")
        parser.add_argument("--today", type=date.fromisoformat, help="the day to reckon from, as 2026-11-25")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 1 when something failed or was left for the next run."""
        if options["dry_run"]:
            self._say_what_would_go(options["today"])
            return
        runs = retain_all(at=timezone.now(), today=options["today"])
        for run in runs:
            gone = {of: getattr(run, of.value) for of in Kept}
            self.stdout.write(f"{run.organisation}: {_words(gone, run.left_alone)}")
        if unfinished := [str(run.organisation) for run in runs if not run.complete]:
            raise CommandError(f"Not all that was due has gone, run it again: {', '.join(unfinished)}")

    def _say_what_would_go(self, today: date | None) -> None:
        for organisation in Organisation.objects.order_by("id"):
            for due in due_of(organisation.id, at=timezone.now(), today=today):
                self.stdout.write(f"{organisation}, {due.club}: {_words(due.counts, due.left_alone)}")


def _words(counts: Any, left_alone: int) -> str:  # noqa: ANN401 - numbers by class
    told = ", ".join(f"{of.replace('_', ' ')} {counts[of]}" for of in Kept)
    return f"{told}; players left alone: {left_alone}"
