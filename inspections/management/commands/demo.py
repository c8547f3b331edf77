"""`manage.py demo`: the demo club, taken in once, then served with everything it needs."""

from argparse import ArgumentParser
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from gearlife.management import processes
from gearlife.models import Club, User
from gearlife.operations import access, organisations, passwords
from inspections.management.demo_club import DemoClub

TOKEN = "demo"  # noqa: S105 - a label
TOKEN_LIFE = timedelta(days=7)


class Command(BaseCommand):
    """Load the demo club into an empty database, make its officer a fresh token, and serve."""

    help = "On a fresh machine: make the database, take in the invented demo club, and serve it. Ctrl-C stops it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the address."""
        parser.add_argument("--host", default=processes.HOST)
        parser.add_argument("--port", type=int, default=processes.PORT, help="the first port to try")

    def handle(self, *args: Any, **options: Any) -> None:
        """Serve; the club is taken in before the port opens."""
        processes.run(host=options["host"], port=options["port"], announce=self.announce, before_open=self.take_in_once)

    def take_in_once(self) -> None:
        """Take the demo club in, whole or not at all, where it is not there yet."""
        demo = DemoClub(settings.FIXTURES_DIR, timezone.now())
        if demo.known() is None:
            self.stdout.write("Taking in the demo club: two seasons of two hundred helmets and pad sets ...")
            self.stdout.flush()
            with transaction.atomic():
                demo.load()

    def announce(self, address: str) -> Iterator[str]:
        """An officer's token, fresh at each start; the club; where it is; who signs in how; what to try."""
        club, officer = DemoClub(settings.FIXTURES_DIR, timezone.now()).known() or _gone()
        yield f"token: {fresh_token(officer)}"
        yield f"club: {club.code}"
        yield address
        yield ""
        yield from signing_in()
        yield ""
        yield "What must a player not wear today?"
        yield f'  curl -s -H "Authorization: Bearer $TOKEN" "{address}/api/v1/alerts/?severity=stop"'
        yield "Tokens of a second officer and of the administrator, for what needs a second person:"
        for user in DemoClub(settings.FIXTURES_DIR, timezone.now()).others():
            yield f"  {user.username}: {fresh_token(user)}"
        yield "Everything else: README.md. Ctrl-C stops it."


def signing_in() -> Iterator[str]:
    """What each person signs in with, fresh at each start; those of earlier starts end now."""
    people = DemoClub(settings.FIXTURES_DIR, timezone.now()).people_of_the_pages()
    width = max(len(user.username) for user, _ in people)
    for user, role in people:
        stamp = organisations.own_stamp(user.organisation, timezone.now())
        words = passwords.fresh_password(user=user, stamp=stamp)
        yield f"sign in: {user.username:{width}} / {words}   {role}"


def fresh_token(officer: User) -> str:
    """A token of this start; those of earlier starts end now."""
    now = timezone.now()
    access.revoke_tokens(user=officer, label=TOKEN, at=now)
    return access.issue_token(user=officer, label=TOKEN, at=now, life=TOKEN_LIFE)


def _gone() -> tuple[Club, User]:
    raise LookupError("the demo club is not in this database")
