"""Check the ledger, and tell one item's history from it in words."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC
from uuid import UUID

from gearlife.domain.ledger import BEGINNING, leaf_hash, link_hash
from gearlife.models import LedgerEvent, LedgerHead


@dataclass(frozen=True)
class Broken:
    """The first event that does not check, and what is wrong with it."""

    organisation_id: UUID
    seq: int
    what: str


def first_broken(organisation_id: UUID) -> Broken | None:
    """Walk one organisation's ledger; None when every text, hash, link and number agrees with the head."""
    link, seq = BEGINNING, 0
    events = LedgerEvent.objects.filter(organisation_id=organisation_id).order_by("seq")
    for event in events.iterator(chunk_size=2000):
        seq += 1
        if event.seq != seq:
            return Broken(organisation_id, seq, f"event {seq} is missing")
        link = link_hash(link, leaf_hash(event.text))
        if what := _fault(event, link):
            return Broken(organisation_id, seq, what)
    head = LedgerHead.objects.filter(organisation_id=organisation_id).first()
    if (head.size, head.link) != (seq, link) if head else seq:
        return Broken(organisation_id, seq + 1, "the head does not agree with the last event")
    return None


def _fault(event: LedgerEvent, link: str) -> str:
    """What is wrong with one event; empty when nothing is."""
    if leaf_hash(event.text) != event.leaf:
        return "its text does not have its hash"
    if link != event.link:
        return "its link does not follow from the event before"
    told = json.loads(event.text)
    columns = {
        "seq": event.seq,
        "organisation": str(event.organisation_id),
        "at": event.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "action": event.action,
        "item": str(event.item_id) if event.item_id else None,
    }
    wrong = [name for name, value in columns.items() if told[name] != value]
    return f"its column {wrong[0]} is not what its text says" if wrong else ""


def events_of(item_id: UUID, organisation_id: UUID) -> Iterator[dict[str, object]]:
    """One item's events, oldest first: seq, at, actor, action, facts."""
    events = LedgerEvent.objects.filter(item_id=item_id, organisation_id=organisation_id).order_by("seq")
    for event in events.iterator():
        told = json.loads(event.text)
        yield {"seq": event.seq, "at": event.at, "actor": told["actor"], "action": event.action, "facts": told["facts"]}
