"""`manage.py serve`: pages, API, worker and schedule in one command."""

from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand

from gearlife import tasks
from gearlife.management import processes
from gearlife.models import Organisation

PORT = 8000


class Command(BaseCommand):
    """Serve what is there; an empty database says how to begin."""

    help = "Serve Gearlife with everything it needs: the database is made when there is none. Ctrl-C stops it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the address."""
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=PORT, help="the first port to try")

    def handle(self, *args: Any, **options: Any) -> None:
        """Bring the database up to date, sweep when that is due, and serve."""
        call_command("migrate", verbosity=0)
        tasks.sweep_if_due()
        processes.run(host=options["host"], port=options["port"], announce=self.announce)

    def announce(self, address: str) -> Iterator[str]:
        """Where it is, and how to begin."""
        yield address
        if not Organisation.objects.exists():
            yield "No organisation yet. Begin with: manage.py organisation --help"
        yield "Ctrl-C stops it."
