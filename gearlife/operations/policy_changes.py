"""What follows a change of rules, seasons or intervals: every clock of the organisation is reckoned anew.

The change raises the organisation's policy revision. Clocks that were stored before it are stale from that moment, and
every question reckons them for itself until they have caught up: a small organisation within the act, a large one chunk
by chunk. A program that is killed goes on where it was, for what is left is still stale.
"""

from collections.abc import Iterable
from uuid import UUID

from django.db import transaction
from django.db.models import F

from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Item, Organisation
from gearlife.operations import waiting
from gearlife.operations.ledger import Entry, record
from gearlife.operations.settling import settle

# What is caught up within the act; the rest waits. Two thousand items take about a second.
AT_ONCE = 2_000
CHUNK = 500
# What is worn first.
PLACES = sorted(Whereabouts, key=lambda place: place is not Whereabouts.PLAYER)


def policy_changed(entries: Iterable[Entry], stamp: Stamp) -> None:
    """Make the stored clocks stale and catch up with as many as one act may; the ledger comes last."""
    organisation_id = stamp.actor.organisation_id
    Organisation.objects.filter(id=organisation_id).update(policy_revision=F("policy_revision") + 1)
    if catch_up(stamp, most=AT_ONCE) >= AT_ONCE:
        waiting.wake()
    record(organisation_id, entries, stamp)


def catch_up(stamp: Stamp, *, most: int | None = None) -> int:
    """Settle items with stale clocks, each chunk in a transaction of its own outside of one; how many were settled."""
    done = 0
    for place in PLACES:
        while (most is None or done < most) and (ids := _stale(stamp.actor.organisation_id, place)):
            _settle(ids, stamp)
            done += len(ids)
    return done


def _stale(organisation_id: UUID, place: Whereabouts) -> list[UUID]:
    items = Item.objects.filter(organisation_id=organisation_id, whereabouts=place.value).with_stale_clocks()
    return list(items.order_by("clocks_revision", "id").values_list("id", flat=True)[:CHUNK])


@transaction.atomic
def _settle(ids: list[UUID], stamp: Stamp) -> None:
    Item.objects.locked(ids)
    settle(ids, [], stamp)
