"""Check the ledger, and tell one item's history from it in words."""

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC
from typing import Any
from uuid import UUID

from django.db.models import Q

from gearlife.domain.ledger import BEGINNING, COMMITTED, TYPED, commitment, leaf_hash, link_hash
from gearlife.models import LedgerEvent, LedgerHead, LedgerWords

# Facts of an event that put other words in the place of earlier ones: `{"12/reason": commitment}`.
REWORDED = "reworded"


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
    return _unsaid(organisation_id)


def _unsaid(organisation_id: UUID) -> Broken | None:
    """The first event whose typed words are not those that it, or a later event, commits to."""
    committed: dict[tuple[int, str], tuple[int, str]] = {}
    telling = Q(text__contains=f'"{COMMITTED}"') | Q(text__contains=f'"{REWORDED}"')
    events = LedgerEvent.objects.filter(telling, organisation_id=organisation_id).order_by("seq")
    for seq, text in events.values_list("seq", "text").iterator(chunk_size=2000):
        facts = json.loads(text)["facts"]
        for name, value in facts.items():
            if name in TYPED and isinstance(value, dict):
                committed[seq, name] = (seq, value[COMMITTED])
        for place, value in facts.get(REWORDED, {}).items():
            number, _, name = place.partition("/")
            committed[int(number), name] = (seq, value)
    for words in LedgerWords.objects.filter(organisation_id=organisation_id).iterator(chunk_size=2000):
        kept = (words.committed_in, commitment(words.salt, words.words))
        if committed.pop((words.seq, words.name), None) != kept:
            return Broken(organisation_id, words.seq, f"its {words.name} is not what was written down")
    return next((Broken(organisation_id, seq, f"its {name} is missing") for seq, name in sorted(committed)), None)


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
    """One item's events, oldest first: seq, at, actor, action, facts, with what was typed of it."""
    events = LedgerEvent.objects.filter(item_id=item_id, organisation_id=organisation_id).order_by("seq")
    said = _said(organisation_id, item_id)
    for event in events.iterator():
        told = json.loads(event.text)
        facts = told["facts"] | said.get(event.seq, {})
        yield {"seq": event.seq, "at": event.at, "actor": told["actor"], "action": event.action, "facts": facts}


def _said(organisation_id: UUID, item_id: UUID) -> dict[int, dict[str, Any]]:
    events = LedgerEvent.objects.filter(item_id=item_id, organisation_id=organisation_id).values("seq")
    said: dict[int, dict[str, Any]] = defaultdict(dict)
    kept = LedgerWords.objects.filter(organisation_id=organisation_id, seq__in=events)
    for seq, name, words in kept.values_list("seq", "name", "words"):
        said[seq][name] = words
    return said
