"""Deliver what waits in the outbox: each row is leased in a short transaction and delivered outside of it.

A message is delivered at least once and always under the same id, so that a second copy is known as one. Whoever dies
in between leaves a lease that runs out; whoever fails waits longer each time.
"""

import logging
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from time import monotonic

from django.db import transaction

from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models import OutboxMessage
from gearlife.operations.waiting import wake

LEASE = timedelta(minutes=2)
FIRST_WAIT, LONGEST_WAIT = timedelta(seconds=30), timedelta(hours=1)
MOST_ATTEMPTS = 12
# A server that is away fails them all: the rest need neither wait for it one by one nor be counted as tried.
MOST_FAILURES_IN_A_ROW = 3
# A job has a time limit; what is left is the next one's.
MOST_IN_ONE_DRAIN = 200

Clock = Callable[[], datetime]
logger = logging.getLogger(__name__)


class NotDeliveredError(Exception):
    """An attempt failed, and it is known why: something is wrong with this message alone."""


class MessageKind:
    """A kind of message: how one is delivered. One that must never be given up says `gives_up = False`."""

    name: str
    gives_up = True

    def deliver(self, message: OutboxMessage, at: datetime) -> MessageOutcome:
        """Deliver it and say how it ended; whatever is raised is a failed attempt. It may be asked twice for one."""
        raise NotImplementedError

    def failed(self, message: OutboxMessage, at: datetime) -> None:
        """Be told of each failed attempt."""


@dataclass
class Drained:
    """What a drain delivered and what failed, in order."""

    done: list[OutboxMessage] = field(default_factory=list)
    failed: list[OutboxMessage] = field(default_factory=list)


_kinds: dict[str, MessageKind] = {}


def register_message_kinds(*kinds: MessageKind) -> None:
    """Add kinds of messages; a package does so in its `AppConfig.ready`."""
    _kinds.update({kind.name: kind for kind in kinds})


def never_given_up() -> list[str]:
    """The names of the kinds that must reach somebody."""
    return [name for name, kind in _kinds.items() if not kind.gives_up]


def post(messages: Iterable[OutboxMessage]) -> None:
    """Write messages in the caller's transaction, each once for its key; when one is new wake whoever delivers."""
    rows = {message.dedupe_key: message for message in messages}
    known = OutboxMessage.objects.filter(dedupe_key__in=rows).values_list("dedupe_key", flat=True)
    for key in known:
        del rows[key]
    if rows:
        # Somebody may write the same at the same time: the key's constraint lets one of each through.
        OutboxMessage.objects.bulk_create(rows.values(), ignore_conflicts=True)
        wake()


def drain(at: datetime) -> Drained:
    """Deliver what is due, one message after the other; several drains at once share the work."""
    clock = _running_from(at)
    drained = Drained()
    in_a_row = 0
    for _ in range(MOST_IN_ONE_DRAIN):
        message = _claim(clock()) if in_a_row < MOST_FAILURES_IN_A_ROW else None
        if message is None:
            break
        error = _deliver(message, clock)
        (drained.failed if error else drained.done).append(message)
        # What is wrong with one message alone says nothing of the way out.
        if not isinstance(error, NotDeliveredError):
            in_a_row = in_a_row + 1 if error else 0
    return drained


def _running_from(at: datetime) -> Clock:
    """A clock that shows `at` now and goes on from there: a slow server must not hold a lease longer than it is."""
    began = monotonic()
    return lambda: at + timedelta(seconds=monotonic() - began)


@transaction.atomic
def _claim(at: datetime) -> OutboxMessage | None:
    """Lease the message that has waited longest and count the attempt; a kill that follows has been counted too.

    Rows that another one holds are passed over; SQLite has one writer at a time, and nothing to pass over.
    """
    rows = OutboxMessage.objects.due(at).order_by("not_before", "id")
    message: OutboxMessage | None = rows.select_for_update(skip_locked=True, of=("self",)).first()
    if message:
        message.lease_until = at + LEASE
        message.attempts += 1
        message.save(update_fields=["lease_until", "attempts"])
    return message


def _deliver(message: OutboxMessage, clock: Clock) -> Exception | None:
    """Deliver one, or say what failed; whose workers die of it does not keep the others from being delivered."""
    kind = _kinds.get(message.kind, MessageKind())
    try:
        if kind.gives_up and message.attempts > MOST_ATTEMPTS:
            message.attempts -= 1  # this one is not made
            raise NotDeliveredError("whatever began to deliver it died of it")
        message.outcome = kind.deliver(message, clock()).value
    except Exception as error:
        foreseen = isinstance(error, NotDeliveredError | OSError)
        logger.warning("the message %s was not delivered: %s", message.id, error, exc_info=not foreseen)
        _fail(message, kind, error, clock())
        return error
    message.done_at, message.lease_until, message.last_error = clock(), None, ""
    message.save(update_fields=["done_at", "lease_until", "last_error", "outcome"])
    return None


@transaction.atomic
def _fail(message: OutboxMessage, kind: MessageKind, error: Exception, at: datetime) -> None:
    """Put it off, for longer each time; after the last attempt it is given up, where its kind ever is."""
    words = f"{type(error).__name__}: {error}"
    message.last_error = "".join(letter for letter in words if letter.isprintable())[:500]
    message.lease_until = None
    # The eighth wait is the longest; powers of two of a message that has failed for years are not needed.
    message.not_before = at + min(FIRST_WAIT * 2 ** min(message.attempts - 1, 7), LONGEST_WAIT)
    if kind.gives_up and message.attempts >= MOST_ATTEMPTS:
        message.dead_at = at
    # First what hangs together with others, then the row itself: the order in which an act locks them.
    kind.failed(message, at)
    message.save(update_fields=["attempts", "last_error", "lease_until", "not_before", "dead_at"])
