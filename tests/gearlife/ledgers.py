"""A ledger with some events in it."""

from typing import Any

from gearlife.domain.ids import uuid7
from gearlife.models import LedgerEvent, LedgerWords, Organisation
from gearlife.operations.ledger import Entry, record
from tests.factories import OrganisationFactory, stamp


def written(count: int = 4) -> Organisation:
    """An organisation with some events in its ledger after those of its founding, noting the numbers from 0."""
    organisation = OrganisationFactory.create()
    for number in range(count):
        record(organisation.id, [Entry("noted", uuid7(), {"number": number})], stamp(organisation))
    return organisation


def events(organisation: Organisation) -> list[LedgerEvent]:
    """Its events, in order."""
    return list(LedgerEvent.objects.filter(organisation=organisation).order_by("seq"))


def typed(event: LedgerEvent) -> dict[str, Any]:
    """What somebody typed of its facts: it stands beside the ledger."""
    return dict(LedgerWords.objects.filter(organisation=event.organisation, seq=event.seq).values_list("name", "words"))


def victim(organisation: Organisation) -> LedgerEvent:
    """The event that noted the number 1."""
    return events(organisation)[-3]
