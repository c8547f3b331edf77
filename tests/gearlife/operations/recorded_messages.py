"""A kind of message that goes nowhere, and messages of it."""

from datetime import datetime, timedelta
from threading import Lock

from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models import Organisation, OutboxMessage
from gearlife.operations.outbox import MessageKind, NotDeliveredError, post
from tests.factories import AT, OrganisationFactory


class Recorded(MessageKind):
    """Delivers into a list; for keys it is told of the server fails, or nobody is there."""

    name = "recorded"

    def __init__(self) -> None:
        self.delivered: list[str] = []
        self.tried: list[str] = []
        self.broken: set[str] = set()
        self.lost: set[str] = set()
        self.lock = Lock()

    def deliver(self, message: OutboxMessage, at: datetime) -> MessageOutcome:
        with self.lock:
            self.tried.append(message.dedupe_key)
            if message.dedupe_key in self.broken:
                raise ConnectionError("no server\nhere")
            if message.dedupe_key in self.lost:
                raise NotDeliveredError("nobody has this address")
            self.delivered.append(message.dedupe_key)
        return MessageOutcome.SENT


class Lasting(Recorded):
    """The same, and never given up."""

    name = "lasting"
    gives_up = False


def written(*keys: str, kind: str = "recorded", organisation: Organisation | None = None) -> list[OutboxMessage]:
    """Messages of these keys, due since `AT`, in their order."""
    owner = organisation or OrganisationFactory.create()
    post(
        OutboxMessage(organisation=owner, kind=kind, dedupe_key=key, created_at=AT, not_before=AT + order)
        for key, order in zip(keys, (timedelta(microseconds=n) for n in range(len(keys))), strict=True)
    )
    return list(OutboxMessage.objects.order_by("not_before"))


def minutes(count: float) -> datetime:
    return AT + timedelta(minutes=count)
