"""Take a person's name out of what was typed: in tables, beside the ledger, in sessions, in mails of the folder."""

import json
from collections.abc import Iterator
from email import message_from_bytes, policy
from importlib import import_module
from pathlib import Path
from typing import Any
from uuid import UUID

from django.apps import apps
from django.conf import settings
from django.db import connection, transaction
from django.db.models import F, Model

from gearlife.domain.access import Stamp
from gearlife.domain.ledger import commitment
from gearlife.domain.privacy import Removal, Table
from gearlife.models import Creation, LedgerEvent, LedgerHead, LedgerWords, OutboxMessage, Owned, SignInSession
from gearlife.operations.ledger import Entry, new_salt, record
from gearlife.queries.ledger import REWORDED
from gearlife.queries.privacy import tables

UNSENT = "unsent"


def reword(organisation_id: UUID, removal: Removal) -> int:
    """Put the label in the place of the name in every table's words; how many texts."""
    return sum(_reword_table(name, of, organisation_id, removal) for name, of in tables().items() if of.words)


def reword_ledger(organisation_id: UUID, entry: Entry, removal: Removal, stamp: Stamp) -> None:
    """Write the act down, with commitments to what stands beside the ledger from now on; no event is touched."""
    changed = list(_words_changed(organisation_id, removal))
    facts = {f"{row.seq}/{row.name}": commitment(row.salt, row.words) for row in changed}
    told = {**entry.facts, REWORDED: facts} if facts else entry.facts
    record(organisation_id, [Entry(entry.action, facts=told)], stamp)
    number = LedgerHead.objects.get(organisation_id=organisation_id).size
    for row in changed:
        row.committed_in = number
    LedgerWords.objects.bulk_update(changed, ["words", "salt", "committed_in"], batch_size=200)


def forget_bodies(ids: list[UUID]) -> None:
    """Drop the digests of what was sent under these ids: who guesses a name finds nothing to compare it with."""
    Creation.objects.filter(id__in=ids).update(digest="")


def forget_carried(organisation_id: UUID, removal: Removal) -> int:
    """Drop what was typed and not sent, where it is about the person; how many sessions held any."""
    store = import_module(settings.SESSION_ENGINE).SessionStore
    dropped = 0
    for row in SignInSession.objects.filter(user__organisation_id=organisation_id):
        session = store(row.session_key)
        told = json.dumps(session.get(UNSENT, ""), ensure_ascii=False)
        if str(removal.player_id) in told or removal.apart(told) != told:
            del session[UNSENT]
            session.save()
            dropped += 1
    return dropped


def forget_mails(organisation_id: UUID, removal: Removal) -> None:
    """Remove the organisation's mails of the folder that name the person: they are copies of what the records say."""
    for path in Path(settings.MAIL_DIR).glob("*.eml"):
        mail = message_from_bytes(path.read_bytes(), policy=policy.default)
        body = mail.get_body(("plain",))
        told = f"{mail['subject']} {' '.join(body.get_content().split()) if body else ''}"
        if removal.apart(told) != told and not _is_foreign(path.stem, organisation_id):
            path.unlink(missing_ok=True)


def overwrite_freed() -> None:
    """Once the transaction is committed, empty SQLite's journal: the pages as they were are in it."""
    if connection.vendor == "sqlite":
        transaction.on_commit(_checkpoint, robust=True)


def _is_foreign(name: str, organisation_id: UUID) -> bool:
    """Whether a mail, which is named by its message's id, is another organisation's."""
    try:
        id_ = UUID(name)
    except ValueError:
        return False
    return OutboxMessage.objects.filter(id=id_).exclude(organisation_id=organisation_id).exists()


def _checkpoint() -> None:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _reword_table(name: str, of: Table, organisation_id: UUID, removal: Removal) -> int:
    model = apps.get_model(name)
    about = [path for path in (of.item, of.player) if path]
    rows = _rows(model).filter(**{of.organisation: organisation_id}).order_by()
    changed = 0
    for pk, *cells in rows.values_list("pk", *about, *of.words).iterator(chunk_size=2000):
        subjects, texts = cells[: len(about)], cells[len(about) :]
        is_own = of.names_apart or removal.player_id in subjects or not removal.items.isdisjoint(subjects)
        said = [removal.words(text, is_own=is_own) for text in texts]
        different = {column: new for column, old, new in zip(of.words, texts, said, strict=True) if old != new}
        if different:
            _write(model, pk, different)
            changed += len(different)
    return changed


def _rows(model: type[Model]) -> Any:  # noqa: ANN401 - the model's own manager
    return model._meta.default_manager


def _write(model: type[Model], pk: object, changes: dict[str, Any]) -> None:
    for column, value in changes.items():
        if isinstance(value, str):
            longest = model._meta.get_field(column).max_length  # type: ignore[union-attr] # a column of text
            changes[column] = value[:longest] if longest else value
    if issubclass(model, Owned):
        changes["version"] = F("version") + 1
    _rows(model).filter(pk=pk).update(**changes)


def _words_changed(organisation_id: UUID, removal: Removal) -> Iterator[LedgerWords]:
    own = set(
        LedgerEvent.objects.filter(organisation_id=organisation_id, item_id__in=removal.items).values_list(
            "seq", flat=True
        )
    )
    for row in LedgerWords.objects.filter(organisation_id=organisation_id).iterator(chunk_size=2000):
        said = removal.words(row.words, is_own=row.seq in own)
        if said != row.words:
            row.words, row.salt = said, new_salt()
            yield row
