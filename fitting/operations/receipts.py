"""Receipts: make one of what a player has now, and have it acknowledged on the officer's device."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction

from fitting.domain.receipts import LONGEST_NAME, MEANING, SignedAs, digest, hidden
from fitting.models import Player, Receipt
from fitting.operations.present import refuse_removed
from fitting.queries.receipts import held, sealed
from gearlife.domain.access import Stamp
from gearlife.domain.cautions import TO_WHOEVER_WEARS_IT
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.normal_form import INVISIBLE, first_of
from gearlife.operations.ledger import Entry, record

CHANGED, NOTHING, REPLACED, SIGNED = "changed_since", "nothing_held", "replaced", "acknowledged_already"


@dataclass(frozen=True)
class NewReceipt:
    """A receipt of what the player has, with the cautions in the words in which they are shown.

    `seen` is the digest of what was shown before; None where nothing was.
    """

    player: Player
    cautions: Sequence[str] = TO_WHOEVER_WEARS_IT
    meaning: str = MEANING
    seen: str | None = None
    id: UUID | None = None


@dataclass(frozen=True)
class Signature:
    """A typed name, and whose it is."""

    name: str
    signed_as: SignedAs


def shown_of(new: NewReceipt) -> dict[str, Any]:
    """What the receipt shows; nothing of it is a name, and nothing changes it later."""
    return held(new.player.id) | {"cautions": [str(each) for each in new.cautions], "meaning": str(new.meaning)}


@transaction.atomic
def make_receipt(*, new: NewReceipt, stamp: Stamp) -> Receipt:
    """Keep what the player has now, in place of a receipt that nobody has acknowledged.

    ConflictError when the player has nothing, or no longer what was seen.
    """
    player = Player.objects.select_for_update(no_key=True).get(id=new.player.id)
    refuse_removed([player])
    shown = shown_of(new)
    if not shown["gear"] and not shown["counted"]:
        raise ConflictError("This player has nothing that a receipt could be made of.", code=NOTHING)
    if new.seen is not None and new.seen != digest(shown):
        raise _changed()
    waiting = Receipt.objects.filter(player=player, acknowledged_at__isnull=True, replaced_at__isnull=True)
    waiting.bump()
    waiting.update(replaced_at=stamp.at)
    receipt = Receipt(
        organisation_id=player.organisation_id,
        player=player,
        shown=shown,
        digest=digest(shown),
        player_name=f"{player.given_name} {player.family_name}",
        salt=secrets.token_hex(32),
        made_at=stamp.at,
        made_by_id=stamp.actor.user_id,
    )
    receipt.id = new.id or receipt.id
    receipt.save(force_insert=True)
    facts = {"receipt": receipt.id, "player": player.id, "digest": receipt.digest}
    record(receipt.organisation_id, _entries("receipt_made", receipt, facts), stamp)
    return receipt


@transaction.atomic
def acknowledge(*, receipt: Receipt, by: Signature, stamp: Stamp) -> Receipt:
    """Seal a receipt with a typed name; acknowledged so already, nothing changes.

    ConflictError for one that another has taken the place of, or when the player no longer has what it shows.
    """
    name = _name(by.name)
    player = Player.objects.select_for_update(no_key=True).get(id=receipt.player_id)
    kept: Receipt = Receipt.objects.select_for_update(no_key=True).get(id=receipt.id)
    if kept.acknowledged_at:
        if (kept.acknowledged_name, kept.acknowledged_as) == (name, by.signed_as):
            return kept
        raise ConflictError("It has been acknowledged already, and never changes: make another.", code=SIGNED)
    refuse_removed([player])
    if kept.replaced_at:
        raise ConflictError("A newer receipt has taken its place: acknowledge that one.", code=REPLACED)
    if held(kept.player_id) != {part: kept.shown[part] for part in ("gear", "counted")}:
        raise _changed()
    kept.acknowledged_at, kept.acknowledged_name = stamp.at, name
    kept.acknowledged_as, kept.acknowledged_with_id = by.signed_as.value, stamp.actor.user_id
    kept.names_hash = hidden(kept.salt, kept.player_name, name)
    kept.seal = sealed(kept)
    kept.version += 1
    kept.save()
    facts = {"receipt": kept.id, "player": kept.player_id, "seal": kept.seal}
    record(kept.organisation_id, _entries("receipt_acknowledged", kept, facts), stamp)
    return kept


@transaction.atomic
def make_acknowledged(*, new: NewReceipt, by: Signature, stamp: Stamp) -> Receipt:
    """Make a receipt and have it acknowledged in one act, both or none."""
    return acknowledge(receipt=make_receipt(new=new, stamp=stamp), by=by, stamp=stamp)


def _entries(action: str, receipt: Receipt, facts: Mapping[str, object]) -> list[Entry]:
    """One for each item on the receipt, for its history; one for all where none has a serial."""
    items: list[UUID | None] = [UUID(line["item"]) for line in receipt.shown["gear"]]
    return [Entry(action, item_id, facts) for item_id in items or [None]]


def _name(typed: str) -> str:
    """The name with single blanks; InvalidInputError where there is none, or a sign in it that nobody sees."""
    name = " ".join(typed.split())
    if not name or len(name) > LONGEST_NAME or first_of(name, INVISIBLE):
        words = f"Type the name of whoever acknowledges it: at most {LONGEST_NAME} letters, all of them visible."
        raise InvalidInputError.at("/name", words)
    return name


def _changed() -> ConflictError:
    words = "What the player has is no longer what this receipt shows: look at it again, and make another."
    return ConflictError(words, code=CHANGED)
