"""Set an item up as a loaner for a band of sizes, and end that."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.db.models import F

from fitting.domain.loaners import Band, band_faults, stored
from fitting.domain.vocabulary import LoanerEnds
from fitting.models import Loaner
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.domain.vocabulary import Kind, Standing, Whereabouts
from gearlife.models import Item
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from gearlife.queries.recorded import read


@dataclass(frozen=True)
class NewLoaner:
    """An item, the bands that it was set up for, and how, in words."""

    item_id: UUID
    bands: Sequence[Band]
    pads_and_air: str = ""
    id: UUID | None = None


@transaction.atomic
def set_up(*, new: NewLoaner, stamp: Stamp) -> Loaner:
    """Set it up; what it was set up for before is ended. ConflictError for what is not in the room or stopped."""
    [item] = Item.objects.locked([new.item_id])
    if faults := [Fault(f.words, f"/bands/{f.band}/{f.member}") for f in band_faults(Kind(item.kind), new.bands)]:
        raise InvalidInputError(faults[0].detail, faults=faults)
    _refuse(item, stamp)
    entries = _end(item.id, LoanerEnds.ANEW, stamp)
    row = Loaner(
        organisation_id=item.organisation_id,
        item=item,
        kind=item.kind,
        size=item.size,
        bands=[stored(band) for band in new.bands],
        pads_and_air=new.pads_and_air,
        prepared_at=stamp.at,
        prepared_by_id=stamp.actor.user_id,
    )
    row.id = new.id or row.id
    row.save(force_insert=True)
    settle([item.id], [*entries, Entry("loaner_set_up", item.id, {"loaner": row.id})], stamp)
    return row


@transaction.atomic
def end_loaner(*, loaner: Loaner, stamp: Stamp) -> None:
    """It is no loaner any more; ended already, nothing changes."""
    Item.objects.lock([loaner.item_id])
    if Loaner.objects.open().filter(id=loaner.id).exists():
        settle([loaner.item_id], _end(loaner.item_id, LoanerEnds.NO_LOANER, stamp), stamp)


def _end(item_id: UUID, by: LoanerEnds, stamp: Stamp) -> list[Entry]:
    """End the open one of a locked item; the entries for the ledger."""
    ended = list(Loaner.objects.open().filter(item_id=item_id).values_list("id", flat=True))
    values = {"ended_at": stamp.at, "ended_by": by.value, "version": F("version") + 1}
    Loaner.objects.filter(id__in=ended).update(**values)
    return [Entry("loaner_ended", item_id, {"loaner": id_, "ended_by": by.value}) for id_ in ended]


def _refuse(item: Item, stamp: Stamp) -> None:
    if item.made_for_one_player:
        words = "It was made for one player and goes to nobody else: it is no loaner."
        raise ConflictError(words, code="made_for_another")
    if item.whereabouts != Whereabouts.STOCK:
        raise ConflictError("It is not in the room: take it back before it is set up.", code="not_in_stock")
    about = read([item.id], stamp.day)
    if about.standing(about.items[item.id], stamp.day) is not Standing.NO_STOP:
        words = "Something recorded stops it: it is set up once that has been dealt with."
        raise ConflictError(words, code="stopped")
