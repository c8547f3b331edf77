"""A club's parts, simply counted. A change is never refused for want of stock: then the count was wrong."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.device_clocks import Moment
from gearlife.domain.normal_form import normal_form
from gearlife.models import Club
from gearlife.operations.ledger import Entry, record
from inspections.domain.part_stock import Move, StockAct, on_hand
from inspections.models import PadChange, PartStock, StockEntry
from inspections.operations.inspect import moment_of


@dataclass(frozen=True)
class NewStockEntry:
    """A delivery, or a count: so many of a part, at `happened_at` (now when None)."""

    club: Club
    part: str
    act: StockAct
    count: int
    happened_at: datetime | None = None
    id: UUID | None = None


@transaction.atomic
def enter_stock(*, new: NewStockEntry, stamp: Stamp) -> StockEntry:
    """Record it; InvalidInputError for a moment to come."""
    moment = moment_of(new.happened_at, stamp, "/happened_at")
    entry = _entry(new, moment, stamp)
    entry.id = new.id or entry.id
    # Whoever moves a club's counts waits here for whoever does so now: the count is reckoned from all of them.
    Club.objects.select_for_update().get(id=new.club.id)
    entry.save(force_insert=True)
    _reckon(entry)
    facts = {"club": new.club.id, "part": entry.part, "count": entry.count, "happened_at": entry.happened_at}
    told = Entry(f"parts_{entry.act}", facts={"stock_entry": entry.id} | facts | entry.clock_facts)
    record(entry.organisation_id, [told], stamp)
    return entry


def use(change: PadChange, stamp: Stamp) -> None:
    """Take what a change put in from its club's count; the caller tells the ledger of the change."""
    club = change.item.club
    new = NewStockEntry(club, change.part, StockAct.USED, change.count)
    entry = _entry(new, Moment(change.changed_at), stamp)
    entry.change = change
    Club.objects.select_for_update().get(id=club.id)
    entry.save(force_insert=True)
    _reckon(entry)


def _entry(new: NewStockEntry, moment: Moment, stamp: Stamp) -> StockEntry:
    entry = StockEntry(
        organisation_id=new.club.organisation_id,
        club=new.club,
        part=new.part.strip(),
        part_key=normal_form(new.part),
        act=new.act.value,
        count=new.count,
        happened_at=moment.at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
    )
    entry.read_on(moment)
    return entry


def _reckon(entry: StockEntry) -> None:
    """The part's count from all its entries; none is kept of what was never delivered or counted."""
    entries = StockEntry.objects.filter(club_id=entry.club_id, part_key=entry.part_key)
    rows = entries.values_list("act", "count", "happened_at", "id")
    left = on_hand(Move(StockAct(act), count, at, id_) for act, count, at, id_ in rows)
    if left is None:
        return
    stock = PartStock.objects.filter(club_id=entry.club_id, part_key=entry.part_key).first() or PartStock(
        organisation_id=entry.organisation_id,
        club_id=entry.club_id,
        part=entry.part,
        part_key=entry.part_key,
        version=0,
    )
    stock.count, stock.count_again, stock.counted_at = left.count, left.count_again, left.counted_at
    stock.version += 1
    stock.save()
