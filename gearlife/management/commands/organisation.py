"""`manage.py organisation NAME ...`: found an organisation with its first club and people."""

import re
from argparse import ArgumentParser
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError
from django.core.validators import validate_email
from django.db import transaction
from django.utils import timezone

from gearlife.domain.errors import GearlifeError
from gearlife.domain.vocabulary import Role
from gearlife.management.prepared import PreparedCommand
from gearlife.models import Club, Organisation
from gearlife.operations import access, organisations, passwords

SHORT = re.compile(r"[A-Za-z0-9-]{1,16}")


class Command(PreparedCommand):
    """Found it all at once, and print the tokens of its people."""

    help = (
        "Found an organisation with its first club, its equipment officer and its administrator, and print what each "
        "signs in with and a bearer token, on lines of their own. Everything else is done on the pages or over the API."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the names."""
        parser.add_argument("name", help="the organisation's name")
        parser.add_argument("--club", required=True, help="a short code of its first club, as RM")
        parser.add_argument("--club-name", required=True)
        parser.add_argument("--timezone", required=True, help="of the IANA database, as America/Chicago")
        parser.add_argument("--officer", required=True, help="user name of the club's equipment officer")
        parser.add_argument("--officer-email", default="", help="where the officer gets alerts")
        parser.add_argument(
            "--administrator", default="", help="user name; not given, the officer is administrator as well"
        )

        parser.add_argument("--administrator-email", default="", help="where the administrator gets alerts")

    def handle(self, *_: Any, **options: Any) -> None:
        """Found and say."""
        try:
            with transaction.atomic():
                club = _found(options, timezone.now())
                lines = list(_people(club, options, timezone.now()))
        except GearlifeError as error:
            raise CommandError(error.detail) from error
        self.stdout.write(f"club: {club.code}")
        for line in lines:
            self.stdout.write(line)


def _found(options: dict[str, Any], at: datetime) -> Club:
    if Organisation.objects.filter(name__iexact=options["name"].strip()).exists():
        raise CommandError(f"There is an organisation {options['name']} already; add clubs and people over the API.")
    if not SHORT.fullmatch(options["club"]):
        raise CommandError("A club's code is of 1 to 16 letters, digits and hyphens.")
    founded = organisations.found_organisation(name=options["name"].strip(), timezone=options["timezone"], at=at)
    stamp = organisations.own_stamp(founded, at)
    return organisations.add_club(
        stamp=stamp, name=options["club_name"], code=options["club"], timezone=options["timezone"]
    )


def _people(club: Club, options: dict[str, Any], at: datetime) -> Iterator[str]:
    """Each account once, with its roles, its address, and the token of each."""
    officer, administrator = options["officer"], options["administrator"]
    roles = {officer: [Role.OFFICER]}
    roles.setdefault(administrator or officer, []).append(Role.ADMINISTRATOR)
    emails = {administrator: options["administrator_email"], officer: options["officer_email"]}
    for username, held in roles.items():
        user = access.add_user(organisation=club.organisation, username=username)
        access.change_address(user=user, email=_address(emails[username]))
        for role in held:
            access.grant(user=user, role=role, club=club if role is Role.OFFICER else None)
        yield f"{username}: {', '.join(role.value for role in held)}"
        yield f"token: {access.issue_token(user=user, label='founding', at=at)}"
        stamp = organisations.own_stamp(club.organisation, at)
        yield f"sign in: {username} / {passwords.fresh_password(user=user, stamp=stamp)}"


def _address(email: str) -> str:
    if email:
        try:
            validate_email(email)
        except ValidationError as error:
            raise CommandError(f"{email} is no e-mail address.") from error
    return email
