"""`manage.py device_token --club CODE --role ROLE`: a bearer token of a device's own account."""

from argparse import ArgumentParser
from typing import Any

from django.utils import timezone

from gearlife.domain.vocabulary import Role
from gearlife.management.places import club_of, team_of
from gearlife.management.prepared import PreparedCommand
from gearlife.models import Club
from gearlife.operations import devices
from gearlife.operations.organisations import own_stamp


class Command(PreparedCommand):
    """Make an account for a device or program, give it one role, and print its token alone."""

    help = (
        "Print a bearer token, valid for a year, of a new account of a device or program: it does what its role "
        "carries, and never releases. The token is printed this once; only its digest is kept."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the place and the role."""
        parser.add_argument("--club", required=True, help="the club's code")
        parser.add_argument("--role", required=True, choices=[role.value for role in Role])
        parser.add_argument("--team", default="", help="a coach's team; not needed where the club has one only")
        parser.add_argument("--organisation", default="", help="the organisation's name, where two have such a club")
        parser.add_argument("--label", default="", help="what the token is for")

    def handle(self, *_: Any, **options: Any) -> None:
        """Make and print it."""
        club = club_of(options["club"], options["organisation"])
        self.stdout.write(new_token(club, Role(options["role"]), options["team"], options["label"]))


def new_token(club: Club, role: Role, team_name: str, label: str) -> str:
    """The secret of a new device's account with one role at the club."""
    team = team_of(club, team_name) if role is Role.COACH or team_name else None
    new = devices.NewDevice(club=club, role=role, label=label, team=team)
    return devices.add_device(new=new, stamp=own_stamp(club.organisation, timezone.now())).secret
