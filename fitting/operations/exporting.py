"""Give one person's data out; that it was given is written down."""

from typing import Any

from django.db import transaction

from fitting.models import Player
from fitting.operations.measurements import note_reads
from fitting.queries.export import export_of
from gearlife.domain.access import Stamp
from gearlife.operations.ledger import Entry, record


@transaction.atomic
def export_person(*, player: Player, why: str, stamp: Stamp) -> dict[str, Any]:
    """Everything of this person as plain rows; noted as a read of the measurements, and in the ledger by the id."""
    told = export_of(player)
    note_reads(player_ids=[player.id], why=why, stamp=stamp)
    record(player.organisation_id, [Entry("person_exported", facts={"player": player.id})], stamp)
    return {"made_at": stamp.at, **told}
