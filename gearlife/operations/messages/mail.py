"""One mail out of one message: the same id at every attempt, plain text, to one person."""

from django.core.mail import EmailMessage

from gearlife.domain.mails import folded, plain
from gearlife.domain.sweep_age import SweepAge
from gearlife.models import OutboxMessage
from gearlife.operations.outbox import NotDeliveredError
from gearlife.queries.recipients import address_of

CAUTIONS = (
    "Gearlife keeps records: it certifies nothing and declares nothing safe. The maker's instructions, the governing "
    "body's rules, local law and licensed recertifiers govern. No helmet prevents all injury to head or neck."
)
SUBJECT_MOST = 150


def send(message: OutboxMessage, *, subject: str, paragraphs: list[str], age: SweepAge) -> None:
    """Send it; NotDeliveredError when there is no address, and whatever the way out raises when it does not take it."""
    person = message.recipient
    address = address_of(person) if person and person.is_active else ""
    if not address:
        raise NotDeliveredError(f"mail does not reach {person}: enter an address at one of the memberships")
    mail = EmailMessage(
        subject=plain(subject)[:SUBJECT_MOST],
        body="\n\n".join([*paragraphs, folded(age.words), folded(CAUTIONS)]) + "\n",
        to=[address],
        # The row's own id: whoever gets it twice can tell. RFC 3834: no machine is to answer it.
        headers={"Message-ID": f"<{message.id}@gearlife.invalid>", "Auto-Submitted": "auto-generated"},
    )
    mail.send()
