"""One mail a day to each officer and administrator: all that is open, by cause; nothing where nothing is."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings

from gearlife.domain.digests import digest
from gearlife.domain.mails import folded, plain
from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models import OutboxMessage, User
from gearlife.operations.messages.mail import send
from gearlife.operations.outbox import MessageKind, post
from gearlife.queries.digests import causes_for, completed_sweeps, stopped_for
from gearlife.queries.recipients import readers_of_digests
from gearlife.queries.sweeps import sweep_age, trouble

MONDAY = 0


class Digest(MessageKind):
    """The mail of one day; on another day it has nothing to say, for that day's says it all."""

    name = "digest"

    def deliver(self, message: OutboxMessage, at: datetime) -> MessageOutcome:
        """Send it; nothing on a day without anything open, but on Mondays, so that its absence is noticed."""
        user, day = message.recipient, date.fromisoformat(message.payload["day"])
        if user is None or at.astimezone(_zone(message.payload["timezone"])).date() != day:
            return MessageOutcome.NOTHING_TO_SAY
        told = digest(causes_for(user), day)
        age = sweep_age(at, message.organisation_id)
        if not told and not age.is_late and day.weekday() != MONDAY:
            return MessageOutcome.NOTHING_TO_SAY
        stops = stopped_for(user)
        subject = f"{stops} must not be worn" if stops else "what wants a hand"
        paragraphs = [
            plain(message.organisation.name),
            *(told or ["Nothing wants a hand this week."]),
            *_sweeps(message, day),
        ]
        send(message, subject=f"Gear of {day}: {subject}", paragraphs=paragraphs, age=age)
        return MessageOutcome.SENT


def post_digests(at: datetime) -> None:
    """Write the mail of the day for each person whose morning has come; asked again, it changes nothing."""
    post(_of_the_morning(at))


def _of_the_morning(at: datetime) -> Iterator[OutboxMessage]:
    for user, timezone in readers_of_digests():
        local = at.astimezone(_zone(timezone))
        if local.hour >= settings.DIGEST_HOUR:
            yield _message(user, local.date(), timezone, at)


def _message(user: User, day: date, timezone: str, at: datetime) -> OutboxMessage:
    return OutboxMessage(
        organisation_id=user.organisation_id,
        kind=Digest.name,
        recipient=user,
        payload={"day": day.isoformat(), "timezone": timezone},
        dedupe_key=f"{Digest.name}:{user.id}:{day}",
        created_at=at,
        not_before=at,
    )


def _zone(name: str) -> tzinfo:
    """A club whose time zone nobody knows has its mornings by UTC, and keeps nobody from theirs."""
    try:
        return ZoneInfo(name)
    except ZoneInfoNotFoundError:
        return UTC


def _sweeps(message: OutboxMessage, day: date) -> Iterator[str]:
    if day.weekday() == MONDAY:
        complete, days = completed_sweeps(message.organisation_id, day)
        yield f"{complete} of {days} sweeps completed in the days before."
    if what := trouble(message.organisation_id):
        yield folded(plain(f"The newest sweep was not complete: {what}"))
