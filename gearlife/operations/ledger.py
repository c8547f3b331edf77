"""Append to the ledger, as the last step of an act: the head row is the last lock that is taken."""

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.access import Stamp
from gearlife.domain.ledger import BEGINNING, COMMITTED, TYPED, canonical_text, commitment, leaf_hash, link_hash
from gearlife.models import LedgerEvent, LedgerHead, LedgerWords
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.models.inserting import insert_values

WORDS = ("organisation_id", "seq", "name", "words", "salt", "committed_in")
COLUMNS = ("organisation_id", "seq", "at", "action", "item_id", "text", "leaf", "link")


@dataclass(frozen=True)
class Entry:
    """One event to be: an action in the past tense, the item it is about, facts without anything personal."""

    action: str
    item_id: UUID | None = None
    facts: Mapping[str, object] = field(default_factory=dict)


def record(organisation_id: UUID, entries: Iterable[Entry], stamp: Stamp) -> None:
    """Append events in this transaction, gapless and linked; nothing is written when there are none."""
    waiting = list(entries)
    if not waiting:
        return
    head = _locked_head(organisation_id)
    said: list[tuple[object, ...]] = []
    insert_values(LedgerEvent, COLUMNS, _events(head, waiting, stamp, said))
    insert_values(LedgerWords, WORDS, said)
    head.save(update_fields=["size", "link"])


def new_salt() -> str:
    """128 random bits."""
    return secrets.token_hex(16)


def _locked_head(organisation_id: UUID) -> LedgerHead:
    known: list[LedgerHead] = _head().instances(organisation=organisation_id)
    if known:
        return known[0]
    begun = {"link": BEGINNING}
    return LedgerHead.objects.select_for_update().get_or_create(organisation_id=organisation_id, defaults=begun)[0]


@compiled
def _head() -> QuerySet[LedgerHead]:
    return LedgerHead.objects.select_for_update().filter(organisation_id=given.one_id("organisation"))


def _events(
    head: LedgerHead, entries: list[Entry], stamp: Stamp, said: list[tuple[object, ...]]
) -> list[tuple[object, ...]]:
    """The rows of these events; the head moves on with each, and `said` gets what was typed."""
    events: list[tuple[object, ...]] = []
    for entry in entries:
        head.size += 1
        facts = {name: plain(value) for name, value in entry.facts.items()}
        for name in [name for name in facts if name in TYPED and facts[name]]:
            words, salt = facts[name], new_salt()
            facts[name] = {COMMITTED: commitment(salt, words)}
            said.append((head.organisation_id, head.size, name, words, salt, head.size))
        text = canonical_text(_fields(head, entry, stamp) | {"facts": facts})
        leaf = leaf_hash(text)
        head.link = link_hash(head.link, leaf)
        events.append((head.organisation_id, head.size, stamp.at, entry.action, entry.item_id, text, leaf, head.link))
    return events


def _fields(head: LedgerHead, entry: Entry, stamp: Stamp) -> dict[str, object]:
    return {
        "seq": head.size,
        "organisation": str(head.organisation_id),
        "at": stamp.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "actor": str(stamp.actor.user_id) if stamp.actor.user_id else None,
        "action": entry.action,
        "item": str(entry.item_id) if entry.item_id else None,
    }


def plain(value: object) -> object:
    """A value as the canonical text takes it: days, moments and ids as text, rows as their ids."""
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat(timespec="microseconds")
        case date() | UUID():
            return str(value)
        case list() | tuple():
            return [plain(part) for part in value]
        case dict():
            return {key: plain(part) for key, part in value.items()}
    return str(value.pk) if hasattr(value, "pk") else value
