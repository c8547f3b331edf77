"""What somebody typed becomes neither header nor line nor link of a mail."""

from datetime import timedelta
from email.message import Message

import pytest
from django.core import mail

from gearlife.domain.mails import plain
from gearlife.domain.vocabulary import Role
from gearlife.models import Club
from gearlife.operations import holds
from gearlife.operations.outbox import drain
from tests.factories import AT, ClubFactory, ItemFactory, person, put_on, stamp

pytestmark = pytest.mark.django_db


def stopped_for(reason: str, club: Club) -> mail.EmailMessage:
    """The mail about something worn that is held for a reason."""
    person(Role.OFFICER, at=club)
    item = ItemFactory.create(club=club)
    put_on(item)
    holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(club.organisation))
    drain(AT + timedelta(seconds=1))
    return mail.outbox[0]


@pytest.mark.parametrize(
    ("typed", "never"),
    [
        ("look at https://evil.example/x", "https://"),
        ("look at www.evil.example", "www.evil"),
        ("crack\nBcc: all@evil.example", "\nBcc"),
        ("crack\r\n\r\nAll is well.", "\nAll is well"),
        ("crack \u202edetsurt", "\u202e"),
    ],
    ids=["an address", "a bare name", "a header", "a paragraph", "a turn of direction"],
)
def test_what_somebody_typed_is_neither_header_nor_line_nor_link(typed: str, never: str) -> None:
    assert never not in str(stopped_for(typed, ClubFactory.create()).body)


def test_a_clubs_name_becomes_no_header() -> None:
    club = ClubFactory.create(name="Otter\r\nBcc: all@evil.example\r\n\r\nBend")
    sent: Message = stopped_for("crack", club).message()
    assert set(sent.keys()) == {
        *("Content-Type", "MIME-Version", "Content-Transfer-Encoding", "Subject", "From", "To", "Date"),
        *("Message-ID", "Auto-Submitted"),
    }


@pytest.mark.parametrize(
    "words", ["Held since 2026-11-23: shell: crack (stop).", "Rule look: 7 days from the last look (P).", "2.5 mm"]
)
def test_plain_words_stay_as_they_are(words: str) -> None:
    assert plain(words) == words
