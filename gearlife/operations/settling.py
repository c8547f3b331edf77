"""The common end of every act on items: versions, clocks, alerts, and the ledger last."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from gearlife.domain.access import Stamp
from gearlife.models import Item
from gearlife.operations import alerts, clocks, ledger
from gearlife.operations.ledger import Entry
from gearlife.queries.recorded import read_new

# As many are read into memory and named in one statement; any number may be settled.
CHUNK = 500


def settle(item_ids: Iterable[UUID], entries: Iterable[Entry], stamp: Stamp) -> None:
    """Bring everything that hangs on these items into line, in the act's own transaction, and write it down."""
    ids = sorted(set(item_ids))
    for start in range(0, len(ids), CHUNK):
        part = ids[start : start + CHUNK]
        Item.objects.filter(id__in=part).bump()
        clocks.recompute(part)
        alerts.refresh_ids(part, stamp)
    ledger.record(stamp.actor.organisation_id, entries, stamp)


def settle_new(items: Sequence[Item], entries: Iterable[Entry], stamp: Stamp) -> None:
    """The same for items that were just inserted: they have no clock yet, and nobody has read a version of them."""
    alerts.refresh_read(read_new(items, clocks.start(items)), stamp)
    ledger.record(stamp.actor.organisation_id, entries, stamp)
