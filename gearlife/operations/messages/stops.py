"""Tell at once whoever is responsible that something must not be worn, and others when nobody takes notice of it.

A watch is a row that goes to nobody: it holds what one act stopped, and the messages to each person hang on it. When
its hour comes and something is still open and unnoticed, it tells the next level.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import groupby

from django.conf import settings

from gearlife.domain.mails import counted, folded, listed, plain
from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models import Alert, Club, OutboxMessage, User
from gearlife.operations.messages.mail import send
from gearlife.operations.outbox import MessageKind, NotDeliveredError, post
from gearlife.queries.recipients import administrators_of, officers_of
from gearlife.queries.stops import Stop, stops, unnoticed
from gearlife.queries.sweeps import sweep_age

# After so many attempts in vain others are told, without waiting for the hour.
FAILURES_BEFORE_OTHERS = 3
MOST_NAMED = 100
WHAT_TO_DO = (
    "Take it off the player, hand out a replacement, and note in the alert who was told and when. The alert closes by "
    "itself when its cause is gone."
)
UNNOTICED = "Nobody at the club has taken notice of this yet, or no mail reached them; now it goes to you."


class StopMessage(MessageKind):
    """At once: what must not be worn, item by item."""

    name = "stop"
    gives_up = False

    def deliver(self, message: OutboxMessage, at: datetime) -> MessageOutcome:
        """Send what of it is still open and unnoticed."""
        watch = message.cause or message
        found = stops(watch.payload["alerts"])
        if not found:
            return MessageOutcome.NOTHING_TO_SAY
        club = Club.objects.get(id=watch.payload["club"])
        verb = "must not be worn"
        subject = f"STOP: {counted(stop.kind for stop in found)} {verb} ({club.name})"
        minutes = round(settings.ESCALATE_AFTER / timedelta(minutes=1))
        others = (
            UNNOTICED if message.level else f"What nobody acknowledges goes to the administrators in {minutes} minutes."
        )
        head = [plain(club.name), folded(WHAT_TO_DO), folded(others)]
        age = sweep_age(at, message.organisation_id)
        send(message, subject=subject, paragraphs=[*head, *_paragraphs(found)], age=age)
        return MessageOutcome.SENT

    def failed(self, message: OutboxMessage, at: datetime) -> None:
        """After some attempts in vain tell others now."""
        if message.cause and message.level == 0 and message.attempts >= FAILURES_BEFORE_OTHERS:
            OutboxMessage.objects.untouched().filter(id=message.cause.id, not_before__gt=at).update(not_before=at)


class Watch(MessageKind):
    """Some time after: nobody has taken notice, so the administrators are told."""

    name = "watch"
    gives_up = False

    def deliver(self, message: OutboxMessage, at: datetime) -> MessageOutcome:
        """Write to each administrator; NotDeliveredError where there is none, and it goes on waiting for one."""
        if not unnoticed(message.payload["alerts"]).exists():
            return MessageOutcome.NOTHING_TO_SAY
        people = administrators_of(message.organisation_id)
        if not people:
            raise NotDeliveredError("mail reaches no administrator: enter an address at one of the memberships")
        post(_to(user, message, level=1, at=at) for user in people)
        return MessageOutcome.PASSED_ON


def tell_stops(alerts: Iterable[Alert], at: datetime) -> None:
    """Tell, in the act's transaction, of alerts that just began to say stop: one message a person for all of a club.

    What the same act stops a moment later joins it, while nobody has begun to deliver it.
    """
    stopped = sorted(alerts, key=lambda alert: (alert.club_id, alert.id))
    for _, group in groupby(stopped, key=lambda alert: alert.club_id):
        of_club = list(group)
        if not _joined(of_club, at):
            _tell(of_club, at)


def _joined(alerts: list[Alert], at: datetime) -> bool:
    """Add to the watch that the same act opened; whether there is one whose messages nobody has begun to deliver."""
    same_act = {"kind": Watch.name, "created_at": at, "payload__club": str(alerts[0].club_id)}
    # Under their locks: a drain passes over them until this act is committed.
    locked = OutboxMessage.objects.select_for_update(of=("self",))
    watch = locked.untouched().filter(**same_act).order_by("-id").first()
    if watch is None or any(message.attempts for message in locked.filter(cause=watch)):
        return False
    watch.payload["alerts"] += [str(alert.id) for alert in alerts]
    watch.save(update_fields=["payload"])
    return True


def _tell(alerts: list[Alert], at: datetime) -> None:
    first = alerts[0]
    people = officers_of(first.club_id)
    watch, _ = OutboxMessage.objects.get_or_create(
        dedupe_key=f"{Watch.name}:{first.id}:{at.isoformat()}",
        defaults={
            "organisation_id": first.organisation_id,
            "kind": Watch.name,
            "payload": {"club": str(first.club_id), "alerts": [str(alert.id) for alert in alerts]},
            "created_at": at,
            "not_before": at + settings.ESCALATE_AFTER if people else at,
        },
    )
    post(_to(user, watch, level=0, at=at) for user in people)


def _to(user: User, watch: OutboxMessage, *, level: int, at: datetime) -> OutboxMessage:
    return OutboxMessage(
        organisation_id=watch.organisation_id,
        kind=StopMessage.name,
        recipient=user,
        cause=watch,
        level=level,
        dedupe_key=f"{StopMessage.name}:{level}:{user.id}:{watch.id}",
        created_at=at,
        not_before=at,
    )


def _paragraphs(found: list[Stop]) -> Iterator[str]:
    """One a cause: an item by itself with whoever wears it, many of one cause as a count and their names."""
    for because, group in groupby(found, key=lambda stop: stop.because):
        same = list(group)
        named = [stop.name + (f", worn by {stop.worn_by}" if stop.worn_by else "") for stop in same]
        yield (
            folded(f"{counted(stop.kind for stop in same)}: {plain(listed(named, most=MOST_NAMED))}")
            + "\n"
            + folded(plain(because), indent="    ")
        )
