"""What follows a change of rules, seasons or intervals: every clock that it reaches is reckoned anew.

The change raises the policy revision of the clubs it reaches. Clocks that were stored before it are stale from that
moment, and every question reckons them for itself until they have caught up: a small organisation's within the act, a
large one's chunk by chunk. A program that is killed goes on where it was, for what is left is still stale.
"""

from collections.abc import Iterable
from uuid import UUID

from django.db import transaction
from django.db.models import F

from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Club, Item, ItemQuerySet, Organisation
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
    make_stale(stamp)
    settle_stale(entries, stamp)


def make_stale(stamp: Stamp, *, club_id: UUID | None = None) -> None:
    """Raise the revision of every club, or of one: before any item is locked, and one change of policy at a time."""
    organisation_id = stamp.actor.organisation_id
    Organisation.objects.select_for_update(no_key=True).get(id=organisation_id)
    clubs = Club.objects.filter(organisation_id=organisation_id, **{"id": club_id} if club_id else {})
    clubs.update(policy_revision=F("policy_revision") + 1)


def settle_stale(entries: Iterable[Entry], stamp: Stamp, *, club_id: UUID | None = None) -> None:
    """Catch up with as many as one act may, locked in the order of their ids; the rest waits."""
    items = _items(stamp.actor.organisation_id, **{"club_id": club_id} if club_id else {})
    ids: list[UUID] = []
    for place in PLACES:
        ids += _stale(items, place, AT_ONCE - len(ids))
    if club_id and not ids:
        # What is retired has no clock, and its club an alert of its own all the same.
        ids = list(Item.objects.filter(club_id=club_id).order_by("id").values_list("id", flat=True)[:1])
    _settle(ids, stamp)
    if len(ids) == AT_ONCE:
        waiting.wake()
    record(stamp.actor.organisation_id, entries, stamp)


def catch_up(stamp: Stamp) -> int:
    """Settle every item with stale clocks, each chunk in a transaction of its own; how many were settled."""
    items = _items(stamp.actor.organisation_id)
    done = 0
    for place in PLACES:
        while ids := _stale(items, place, CHUNK):
            _settle(ids, stamp)
            done += len(ids)
    return done


def _items(organisation_id: UUID, **of: UUID) -> ItemQuerySet:
    return Item.objects.filter(organisation_id=organisation_id, **of).with_stale_clocks()


def _stale(items: ItemQuerySet, place: Whereabouts, most: int) -> list[UUID]:
    """Any of them will do: in an order the database would have to look at all of them each time."""
    return list(items.filter(whereabouts=place.value).values_list("id", flat=True)[:most])


@transaction.atomic
def _settle(ids: list[UUID], stamp: Stamp) -> None:
    Item.objects.lock(ids)
    settle(ids, [], stamp)
