"""Record what was done to the air in helmets: what it stops, and the check that it makes."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.device_clocks import Moment, else_now, reckoned
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.vocabulary import Advice, Anchor, HoldCause
from gearlife.models import GearModel, Item
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.items import mark
from gearlife.operations.ledger import Entry, record
from gearlife.operations.settling import settle
from gearlife.operations.unique import insert_unique
from inspections.domain.air_records import (
    ACTS,
    ONE_CELL,
    Act,
    Felt,
    Measured,
    ModelAir,
    faults_of,
    grade_of,
    last_check,
    model_faults,
    reason_of,
)
from inspections.domain.vocabulary import Grade
from inspections.models import AirOfModel, AirRecord
from inspections.operations.inspect import moment_of
from inspections.queries.air import air_of_models

NUMBERS = ("pressure_kpa", "temperature_c", "elevation_m", "barometric_kpa", "strokes")


@dataclass(frozen=True)
class NewAirRecord:
    """One cell of one item looked after: `felt` or `act` says how; now where no moment is given."""

    item: Item
    cell: str = ONE_CELL
    act: Act | None = None
    felt: Felt | None = None
    measured: Measured = field(default_factory=Measured)
    happened_at: datetime | None = None
    id: UUID | None = None

    @property
    def done(self) -> Act:
        """What was done, where only how it felt was told."""
        return self.act or (ACTS[self.felt] if self.felt else Act.READING)


def record_air(*, new: NewAirRecord, stamp: Stamp) -> AirRecord:
    """Record one; InvalidInputError with every fault."""
    return record_all_air([new], stamp)[0]


@transaction.atomic
def record_all_air(entries: Iterable[NewAirRecord], stamp: Stamp) -> list[AirRecord]:
    """Record many, all or none, in a number of queries that does not grow with them.

    A cell that will not hold air holds its item at once, whatever a device's clock says of when that was.
    """
    wanted = list(entries)
    of_models = air_of_models(new.item.model_id for new in wanted)
    for new in wanted:
        refuse_bad_air(new, of_models[new.item.model_id], stamp)
    items = {item.id: item for item in Item.objects.locked(new.item.id for new in wanted)}
    rows = [_row(new, items[new.item.id], of_models[new.item.model_id], stamp) for new in wanted]
    AirRecord.objects.bulk_create(rows)
    _, held = open_holds([_hold(row, stamp) for row in rows if row.counts_as == Grade.STOP], stamp)
    _mark(items, of_models, stamp)
    settle(items, [*(_told(row) for row in rows), *held], stamp)
    return rows


def refuse_bad_air(new: NewAirRecord, known: ModelAir, stamp: Stamp) -> None:
    """InvalidInputError with every fault: an unknown cell, words that contradict each other, numbers out of bounds."""
    faults = list(faults_of(new.act, new.felt, new.measured))
    # A phone's list may be an old one: what takes gear out of use is not refused for the name of a cell.
    if new.cell not in known.cells and new.felt is not Felt.WONT_HOLD:
        faults.append(Fault(f"This model has no such cell; it has {', '.join(known.cells)}.", "/cell", "unknown_cell"))
    if faults:
        raise InvalidInputError("; ".join(fault.detail for fault in faults[:3]), faults=faults)
    _moment(new, known, stamp)


@transaction.atomic
def state_air(*, model: GearModel, facts: Mapping[str, Any], stamp: Stamp, id: UUID | None = None) -> AirOfModel:  # noqa: A002 - the contract's word
    """Add what the maker states of a model's air; ConflictError where something is stated already."""
    row = AirOfModel(organisation_id=model.organisation_id, model=model, cells=[ONE_CELL])
    row.id = id or row.id
    _set(row, facts)
    insert_unique(row, "Something is stated of this model's air already: change that.", "taken")
    record(stamp.actor.organisation_id, [_told_of_model(row)], stamp)
    return row


@transaction.atomic
def change_air(*, row: AirOfModel, facts: Mapping[str, Any], stamp: Stamp) -> AirOfModel:
    """Change it. What was recorded keeps the grade that it had; from now on the new range counts."""
    _set(row, facts)
    row.version += 1
    row.save()
    record(stamp.actor.organisation_id, [_told_of_model(row)], stamp)
    return row


def _set(row: AirOfModel, facts: Mapping[str, Any]) -> None:
    for name, value in facts.items():
        setattr(row, name, value)
    stated = (row.cells, row.lowest_kpa, row.highest_kpa, row.stated_in, Grade(row.outside_counts_as))
    if faults := list(model_faults(*stated)):
        raise InvalidInputError("; ".join(fault.detail for fault in faults), faults=faults)


def _moment(new: NewAirRecord, known: ModelAir, stamp: Stamp) -> Moment:
    """What tells against the item is taken whatever the clock says; all else must lie in the past."""
    if grade_of(new.felt, new.measured, known.stated) is not Grade.NOTHING_FOUND:
        return else_now(reckoned(new.happened_at, stamp), stamp)
    return moment_of(new.happened_at, stamp, "/happened_at")


def _row(new: NewAirRecord, item: Item, known: ModelAir, stamp: Stamp) -> AirRecord:
    moment = _moment(new, known, stamp)
    row = AirRecord(
        organisation_id=item.organisation_id,
        item=item,
        cell=new.cell,
        act=new.done.value,
        felt=new.felt.value if new.felt else "",
        counts_as=grade_of(new.felt, new.measured, known.stated).value,
        happened_at=moment.at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
        **{name: getattr(new.measured, name) for name in NUMBERS},
    )
    row.read_on(moment)
    row.id = new.id or row.id
    return row


def _hold(row: AirRecord, stamp: Stamp) -> NewHold:
    """The hold of a record that stops; its id is the origin, so that the same record twice opens one."""
    return NewHold(
        item_id=row.item_id,
        reason=reason_of(row.cell, Felt(row.felt) if row.felt else None),
        cause=HoldCause.FINDING,
        starts_on=local_day(min(row.happened_at, stamp.at), row.item.club.timezone),
        origin_id=row.id,
        advice=Advice.INSPECT,
    )


def _mark(items: Mapping[UUID, Item], of_models: Mapping[UUID, ModelAir], stamp: Stamp) -> None:
    """Move the anchor of the last air check to when every cell had been looked after: some cells are no check."""
    latest: dict[UUID, dict[str, datetime]] = defaultdict(dict)
    rows = AirRecord.objects.filter(item_id__in=items).order_by().values_list("item_id", "cell")
    for item_id, cell, at in rows.annotate(last=Max("happened_at")):
        latest[item_id][cell] = at
    checked = {id_: last_check(latest[id_], of_models[item.model_id].cells) for id_, item in items.items()}
    moments = {id_: at for id_, at in checked.items() if at}
    mark([items[id_] for id_ in moments], Anchor.AIR_CHECK, moments, stamp)


def _told(row: AirRecord) -> Entry:
    facts = {name: getattr(row, name) for name in ("cell", "act", "felt", "counts_as", "happened_at")}
    numbers = {name: _as_text(getattr(row, name)) for name in NUMBERS}
    return Entry("air_recorded", row.item_id, {"air_record": row.id, **facts, **numbers, **row.clock_facts})


def _told_of_model(row: AirOfModel) -> Entry:
    facts = {name: getattr(row, name) for name in ("cells", "stated_in", "outside_counts_as")}
    ends = {name: _as_text(getattr(row, name)) for name in ("lowest_kpa", "highest_kpa")}
    return Entry("air_stated", facts={"model": row.model_id, **facts, **ends})


def _as_text(number: float | None) -> str | None:
    """A measured number as the ledger's canonical text takes it."""
    return None if number is None else str(number)
