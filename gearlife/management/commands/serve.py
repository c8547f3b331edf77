"""`manage.py serve`: pages, API, worker and schedule in one command."""

from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand

from gearlife.management import processes
from gearlife.models import Organisation


class Command(BaseCommand):
    """Serve what is there; an empty database says how to begin."""

    help = "Serve Gearlife with everything it needs: the database is made when there is none. Ctrl-C stops it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the address."""
        parser.add_argument("--host", default=processes.HOST)
        parser.add_argument("--port", type=int, default=processes.PORT, help="the first port to try")

    def handle(self, *args: Any, **options: Any) -> None:
        """Serve until Ctrl-C."""
        processes.run(host=options["host"], port=options["port"], announce=announce)


def announce(address: str) -> Iterator[str]:
    """Where it is, and how to begin."""
    yield address
    yield f"try: curl {address}/api/v1/health/live/"
    if not Organisation.objects.exists():
        yield "No organisation yet. Begin with: manage.py organisation --help"
    yield "Ctrl-C stops it."
