"""Mail over a real conversation with a server that fails: delivered at least once, always under the same Message-ID."""

import socket
from datetime import datetime, timedelta
from typing import Any

import pytest

from gearlife.domain.vocabulary import Role
from gearlife.models import Alert, OutboxMessage
from gearlife.operations.messages import stops
from gearlife.operations.messages.mail import send
from gearlife.operations.outbox import LEASE, drain
from tests.factories import AT, ClubFactory, ItemFactory, person, put_on
from tests.gearlife.mail_server import MailServer, mail_server

pytestmark = pytest.mark.django_db


@pytest.fixture
def server(settings: Any) -> Any:
    """A server that is up, and settings that name it."""
    with mail_server() as up:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", up.port, 2
        yield up


@pytest.fixture(autouse=True)
def stop() -> OutboxMessage:
    """A message to an officer that something worn must not be."""
    club = ClubFactory.create()
    user = person(Role.OFFICER, at=club)
    user.email = "officer@otter-bend.example"
    user.save()
    put_on(ItemFactory.create(club=club, made_on=""))
    return OutboxMessage.objects.get(kind="stop")


class Killed(BaseException):
    """The process is killed: nothing of ours catches it."""


def ids(server: MailServer) -> list[str]:
    return [str(each["Message-ID"]) for each in server.taken]


def own_id(message: OutboxMessage) -> str:
    return f"<{message.id}@gearlife.invalid>"


def after(**span: float) -> datetime:
    return AT + timedelta(**span)


def test_a_mail_arrives_whole(server: MailServer, stop: OutboxMessage) -> None:
    drain(after(seconds=1))
    [mail] = server.taken

    assert (mail["To"], mail["Message-ID"]) == ("officer@otter-bend.example", own_id(stop))
    assert mail["Auto-Submitted"] == "auto-generated"
    assert "must not wear it" in str(mail.get_payload())


def test_a_server_that_is_down_for_hours_gets_it_once_when_it_is_up(settings: Any, stop: OutboxMessage) -> None:
    with mail_server() as gone:
        port = gone.port
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", port, 2
    for minutes in range(0, 6 * 60, 10):
        drain(after(minutes=minutes))
    stop.refresh_from_db()
    assert (stop.done_at, stop.dead_at) == (None, None)
    assert "ConnectionRefusedError" in stop.last_error

    with mail_server(port) as up:
        for hours in (7, 8, 9):
            drain(after(hours=hours))
        assert ids(up) == [own_id(stop)]


def test_a_server_that_takes_it_and_dies_before_quit_has_taken_it_once(server: MailServer, stop: OutboxMessage) -> None:
    server.fault = "dies before QUIT"
    for minutes in range(1, 10):
        drain(after(minutes=minutes))

    assert ids(server) == [own_id(stop)]


@pytest.mark.parametrize("fault", ["dies before it has taken the mail", "dies before it has said so"])
def test_what_is_not_known_to_be_taken_is_sent_again_under_the_same_id(
    server: MailServer, stop: OutboxMessage, fault: str
) -> None:
    server.fault = fault
    drain(after(seconds=1))
    server.fault = ""
    drain(after(seconds=40))
    drain(after(minutes=10))

    assert set(ids(server)) == {own_id(stop)}
    assert len(server.taken) == (2 if fault == "dies before it has said so" else 1)


def test_a_recipient_whom_the_server_refuses_is_tried_again(server: MailServer, stop: OutboxMessage) -> None:
    server.fault = "refuses the recipient"
    drain(after(seconds=1))
    stop.refresh_from_db()
    assert "550" in stop.last_error

    server.fault = ""
    drain(after(minutes=1))
    assert ids(server) == [own_id(stop)]


def test_a_server_that_never_answers_costs_no_more_than_its_time_out(settings: Any, stop: OutboxMessage) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", silent.getsockname()[1], 0.3
        drained = drain(after(seconds=1))

    assert [message.id for message in drained.failed] == [stop.id]
    assert "timed out" in drained.failed[0].last_error


def test_a_worker_killed_between_sending_and_noting_it_sends_the_same_id_again(
    server: MailServer, stop: OutboxMessage, monkeypatch: pytest.MonkeyPatch
) -> None:
    def send_and_die(*args: Any, **kwargs: Any) -> None:
        send(*args, **kwargs)
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(stops, "send", send_and_die)
        with pytest.raises(Killed):
            drain(after(seconds=1))
    drain(after(seconds=1) + LEASE + timedelta(seconds=1))

    assert ids(server) == [own_id(stop)] * 2


def test_wake_ups_that_are_doubled_lost_or_late_make_one_mail_of_one_alert(
    server: MailServer, stop: OutboxMessage
) -> None:
    # Each wake-up is a drain: none for a while, then three at once, then ten minutes later once more, in any order.
    for minutes in (10, 10, 10, 20, 1):
        drain(after(minutes=minutes))

    assert ids(server) == [own_id(stop)]
    assert Alert.objects.filter(kind="worn_stopped").count() == 1
    assert OutboxMessage.objects.filter(kind="stop").count() == 1
