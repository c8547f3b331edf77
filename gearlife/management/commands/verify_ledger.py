"""`manage.py verify_ledger`: check the hash links."""

from typing import Any

from django.core.management.base import CommandError

from gearlife.management.prepared import PreparedCommand
from gearlife.models import Organisation
from gearlife.queries.ledger import first_broken


class Command(PreparedCommand):
    """Walk every organisation's ledger; name the first bad event and exit 1."""

    help = "Check every event of every ledger against its hash and its link."

    def handle(self, *args: Any, **options: Any) -> None:
        """Check and say."""
        for organisation in Organisation.objects.order_by("id"):
            if broken := first_broken(organisation.id):
                raise CommandError(f"{organisation}: event {broken.seq}: {broken.what}")
            self.stdout.write(f"{organisation}: every event agrees with its hash and its link")
