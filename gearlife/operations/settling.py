"""The common end of every act on items: versions, clocks, alerts, and the ledger last."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from gearlife.domain.access import Stamp
from gearlife.models import Club, Item
from gearlife.operations import alerts, clocks, ledger
from gearlife.operations.ledger import Entry
from gearlife.queries.recorded import read_facts, read_new

# As many are read into memory and named in one statement; any number may be settled.
CHUNK = 500


def settle(item_ids: Iterable[UUID], entries: Iterable[Entry], stamp: Stamp) -> None:
    """Bring everything that hangs on these items into line, in the act's own transaction, and write it down."""
    ids = sorted(set(item_ids))
    for start in range(0, len(ids), CHUNK):
        about = read_facts(ids[start : start + CHUNK])
        clocks.recompute(about)
        Item.objects.filter(id__in=about.items).bump()
        alerts.refresh_read(about, stamp)
    ledger.record(stamp.actor.organisation_id, entries, stamp)


def settle_new(items: Sequence[Item], entries: Iterable[Entry], stamp: Stamp) -> None:
    """The same for items that were just inserted: they have no clock yet, and nobody has read a version of them."""
    clubs = Club.objects.filter(id__in={item.club_id for item in items})
    about = read_new(items, dict(clubs.values_list("id", "policy_revision")))
    clocks.start(about)
    alerts.refresh_read(about, stamp)
    ledger.record(stamp.actor.organisation_id, entries, stamp)
