"""The dead-man's switch: tell the administrators when no sweep has been complete for too long."""

from collections.abc import Iterator
from datetime import datetime

from gearlife.domain.days import local_day
from gearlife.domain.mails import folded, plain
from gearlife.domain.sweep_age import SweepAge
from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models import Organisation, OutboxMessage
from gearlife.operations.messages.mail import send
from gearlife.operations.outbox import MessageKind, post
from gearlife.queries.recipients import administrators_of
from gearlife.queries.sweeps import late_organisations, sweep_age, trouble

WHAT_IT_MEANS = (
    "What only time brings (a certification that lapses, a look that falls due) may be missing from the alerts and "
    "from the daily mail. Handing out is not affected: the gate asks the records themselves. Run `manage.py sweep` "
    "and read what it says; see that worker and schedule are running."
)


class LateSweep(MessageKind):
    """The alarm; it has nothing to say once a sweep has been complete."""

    name = "late_sweep"
    gives_up = False

    def deliver(self, message: OutboxMessage, at: datetime) -> MessageOutcome:
        """Send it, with what the newest sweep did not examine."""
        age = sweep_age(at, message.organisation_id)
        if not age.is_late:
            return MessageOutcome.NOTHING_TO_SAY
        name = message.organisation.name
        paragraphs = [plain(name), folded(WHAT_IT_MEANS)]
        if what := trouble(message.organisation_id):
            paragraphs.append(folded(plain(what)))
        send(message, subject=f"ALARM: the sweep of the records is late ({name})", paragraphs=paragraphs, age=age)
        return MessageOutcome.SENT


def tell_late_sweeps(at: datetime) -> list[tuple[Organisation, SweepAge]]:
    """Write to the administrators of every organisation whose sweep is late, once a day; which these are."""
    late = late_organisations(at)
    post(message for organisation, _ in late for message in _alarms(organisation, at))
    return late


def _alarms(organisation: Organisation, at: datetime) -> Iterator[OutboxMessage]:
    day = local_day(at, organisation.timezone)
    for user in administrators_of(organisation.id):
        key = f"{LateSweep.name}:{user.id}:{day}"
        yield OutboxMessage(
            organisation=organisation,
            kind=LateSweep.name,
            recipient=user,
            dedupe_key=key,
            created_at=at,
            not_before=at,
        )
