"""`manage.py drain`, and the folder that mails go to where no server is named."""

from email import message_from_bytes
from email.policy import default
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import CommandError, call_command

from gearlife.domain.vocabulary import Role
from gearlife.models import OutboxMessage, User
from tests.factories import AT, ClubFactory, ItemFactory, person, put_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.EMAIL_BACKEND = "gearlife.operations.messages.mail_folder.MailFolder"
    settings.MAIL_DIR = tmp_path / "mail"
    return tmp_path / "mail"


@pytest.fixture
def officer() -> User:
    """The officer of a club where something is worn that must not be."""
    club = ClubFactory.create(name="Otter Bend ö")
    user = person(Role.OFFICER, at=club)
    put_on(ItemFactory.create(club=club, made_on=""))
    return user


def said() -> str:
    out = StringIO()
    with time_machine.travel(AT, tick=False):
        call_command("drain", stdout=out)
    return out.getvalue()


def test_it_sends_without_any_worker_and_says_what(officer: User, folder: Path) -> None:
    lines = said().splitlines()
    assert lines[:3] == [
        f"sent: stop to {officer.username}",
        f"sent: digest to {officer.username}",
        "2 done, 0 failed, 1 waiting",  # what would tell others waits for its hour
    ]
    assert said().startswith("0 done, 0 failed, 1 waiting")


def test_a_mail_in_the_folder_is_a_whole_mail_named_by_its_row(officer: User, folder: Path) -> None:
    said()
    row = OutboxMessage.objects.get(kind="stop")
    sent = message_from_bytes((folder / f"{row.id}.eml").read_bytes(), policy=default)

    assert sent["To"] == f"{officer.username}@gearlife.invalid"
    assert sent["Message-ID"] == f"<{row.id}@gearlife.invalid>"
    assert sent["Subject"] == "STOP: 1 helmet must not be worn (Otter Bend ö)"
    assert "Otter Bend ö" in sent.get_content()


def test_a_mail_that_is_sent_twice_is_in_the_folder_once(officer: User, folder: Path) -> None:
    said()
    OutboxMessage.objects.update(done_at=None, outcome="")
    said()

    assert [path.suffix for path in folder.iterdir()] == [".eml", ".eml"]


def test_a_stop_that_reached_nobody_ends_it_with_an_error_that_says_why(officer: User, settings: Any) -> None:
    settings.MAIL_DOMAIN_OF_NAMES = ""
    with pytest.raises(CommandError, match=f"tried again: stop to {officer.username} .*: mail does not reach"):
        said()


def test_what_was_given_up_goes_on_being_named(officer: User, folder: Path) -> None:
    OutboxMessage.objects.filter(kind="stop").update(kind="other", dead_at=AT, last_error="550 no such mailbox")

    assert f"given up: other to {officer.username} on 2026-10-14: 550 no such mailbox" in said()
