"""`manage.py password USERNAME`: a new password for whoever lost it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from gearlife.management.prepared import PreparedCommand
from gearlife.models import User
from gearlife.operations import organisations, passwords


class Command(PreparedCommand):
    """Set two invented words as the password, and print them alone."""

    help = (
        "Print a new password for a person's account, this once. Its sessions end, and a lock after wrong tries as "
        "well. Whoever gets it changes it under Your settings."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the name."""
        parser.add_argument("username")

    def handle(self, *_: Any, **options: Any) -> None:
        """Set and print it."""
        user = User.objects.select_related("organisation").filter(username=options["username"]).first()
        if user is None:
            raise CommandError(f"There is no account {options['username']}.")
        if user.is_device:
            raise CommandError(f"{user} is a device's account: it has a token, and no password. See device_token.")
        if user.is_operator:
            raise CommandError(f"{user} is an operator's account: `manage.py operator {user}` gives it a new password.")
        stamp = organisations.own_stamp(user.organisation, timezone.now())
        self.stdout.write(passwords.fresh_password(user=user, stamp=stamp))
