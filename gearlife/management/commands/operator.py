"""`manage.py operator NAME`: an account for whoever runs the machine."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.db import transaction
from django.utils import timezone

from gearlife.domain.errors import GearlifeError
from gearlife.management.prepared import PreparedCommand
from gearlife.models import Organisation, User
from gearlife.operations import access, organisations, passwords


class Command(PreparedCommand):
    """Make an operator's account, or give it a new password, and print what it signs in with."""

    help = (
        "Make an account that reads the records of all organisations under /operators/, changes nothing there, and "
        "holds no role; print its password, this once. The pages are served only with GEARLIFE_OPERATORS=1. Asked for "
        "a name again it sets a new password."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the name."""
        parser.add_argument("username")
        parser.add_argument("--organisation", default="", help="whose people the name is kept with, if not the first")
        parser.add_argument("--end", action="store_true", help="end the account and its sessions instead")

    @transaction.atomic
    def handle(self, *_: Any, **options: Any) -> None:
        """Make, renew or end it."""
        user = User.objects.select_related("organisation").filter(username=options["username"]).first()
        if user and not user.is_operator:
            raise CommandError(f"{user} is somebody's account: an operator has one of the own, under another name.")
        if options["end"]:
            self.stdout.write(_end(user))
            return
        user = user or _new(options["username"], options["organisation"])
        User.objects.filter(id=user.id).update(is_active=True)
        stamp = organisations.own_stamp(user.organisation, timezone.now())
        self.stdout.write(f"sign in: {user} / {passwords.operators_password(user=user, stamp=stamp)}")


def _new(username: str, organisation_name: str) -> User:
    known = Organisation.objects.order_by("id")
    organisation = known.filter(name__iexact=organisation_name.strip()).first() if organisation_name else known.first()
    if organisation is None:
        raise CommandError("There is no such organisation. Begin with: manage.py organisation --help")
    try:
        return access.add_user(organisation=organisation, username=username, is_operator=True)
    except GearlifeError as error:
        raise CommandError(error.detail) from error


def _end(user: User | None) -> str:
    if user is None:
        raise CommandError("There is no such operator.")
    User.objects.filter(id=user.id).update(is_active=False)
    passwords.end_sessions(user)
    return f"{user} is no operator any more."
