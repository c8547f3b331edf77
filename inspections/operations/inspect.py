"""Record that items were looked over: what was found, what it stops, and which clocks it moves."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.device_clocks import EARLIEST, Moment, else_now, may_have_been, reckoned
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.domain.vocabulary import Anchor, HoldCause, Kind
from gearlife.models import Item
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.items import mark
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from inspections.domain.checklists import known_points
from inspections.domain.findings import Assessed, NewFinding, assess, faults_of, late_repairs, outcome_of
from inspections.domain.vocabulary import Depth, EnteredBy, Grade
from inspections.models import Checklist, Finding, Inspection
from inspections.queries.checklists import newest_checklists

__all__ = ["NewFinding", "NewInspection", "moment_of", "record_inspection", "record_inspections", "refuse_bad"]

TO_COME = "This lies in the future: set the device's clock, or send along in Device-Time what it shows."
# What a depth is a fresh instance of: a look never counts as a full inspection.
ANCHORS = {Depth.LOOK: (Anchor.LOOK,), Depth.FULL: (Anchor.LOOK, Anchor.FULL_INSPECTION)}


@dataclass(frozen=True)
class NewInspection:
    """One looking-over of one item. Points that are not listed had nothing found; no checklist means the newest."""

    item: Item
    depth: Depth | str = Depth.LOOK
    inspected_at: datetime | None = None
    findings: Sequence[NewFinding] = ()
    not_looked_at: Sequence[str] = ()
    entered_by: EnteredBy | str = EnteredBy.TAPPED
    checklist: Checklist | None = None
    looked_by: str = ""
    id: UUID | None = None


@dataclass(frozen=True)
class Draft:
    """An inspection about to be written, with what was found, row by row and as it counts."""

    inspection: Inspection
    findings: Sequence[tuple[Finding, Assessed]]


def record_inspection(*, new: NewInspection, stamp: Stamp) -> Inspection:
    """Record one inspection."""
    return record_inspections([new], stamp)[0]


@transaction.atomic
def record_inspections(entries: Iterable[NewInspection], stamp: Stamp) -> list[Inspection]:
    """Record inspections of any items, in the order given, in a number of queries that does not grow with them.

    All or nothing: InvalidInputError for the first entry that cannot be taken. What a retired or missing item showed
    is recorded too.
    """
    wanted = list(entries)
    newest = newest_checklists(stamp.actor.organisation_id)
    for entry in wanted:
        refuse_bad(entry, newest, stamp)
    items = {item.id: item for item in Item.objects.locked(entry.item.id for entry in wanted)}
    drafts = [_draft(entry, items[entry.item.id], newest, stamp) for entry in wanted]
    Inspection.objects.bulk_create([draft.inspection for draft in drafts])
    Finding.objects.bulk_create([finding for draft in drafts for finding, _ in draft.findings])
    _, held = open_holds([hold for draft in drafts for hold in _holds(draft, stamp)], stamp)
    _mark(drafts, items, stamp)
    settle(items, [*(_told(draft) for draft in drafts), *held], stamp)
    return [draft.inspection for draft in drafts]


def refuse_bad(new: NewInspection, newest: Mapping[Kind, Checklist], stamp: Stamp) -> None:
    """InvalidInputError with every fault: a moment to come, another kind's checklist, unknown points and defects."""
    faults = []
    if not may_have_been(_looked_at(new, stamp), stamp):
        faults.append(Fault(f"When was it looked over? {TO_COME}", "/inspected_at", "not_now"))
    kind = Kind(new.item.kind)
    checklist = new.checklist or newest.get(kind)
    if checklist is None:
        raise ConflictError(f"There is no checklist for the kind `{kind}` yet; add one.", code="no_checklist")
    if checklist.kind != kind:
        faults.append(Fault(f"This checklist is not for the kind `{kind}`.", "/checklist", "other_kind"))
    else:
        faults += faults_of(kind, new.findings, new.not_looked_at, known_points(kind, checklist.points))
    faults += late_repairs(new.findings, stamp.day)
    if faults:
        raise InvalidInputError("; ".join(fault.detail for fault in faults[:3]), faults=faults)


def moment_of(given: datetime | None, stamp: Stamp, pointer: str) -> Moment:
    """When a check's fact was, as it counts; InvalidInputError where it lies in the future."""
    moment = reckoned(given, stamp)
    if not may_have_been(moment, stamp):
        raise InvalidInputError.at(pointer, f"When was it? {TO_COME}", "not_now")
    return moment


def _looked_at(new: NewInspection, stamp: Stamp) -> Moment:
    """A fault is taken whatever the clock says, and counts as found now; a pass from the future is none."""
    moment = reckoned(new.inspected_at, stamp)
    return else_now(moment, stamp) if new.findings else moment


def _draft(new: NewInspection, item: Item, newest: Mapping[Kind, Checklist], stamp: Stamp) -> Draft:
    kind = Kind(item.kind)
    checklist = new.checklist or newest[kind]
    known = known_points(kind, checklist.points)
    assessed = [assess(kind, finding, known) for finding in new.findings]
    moment = _looked_at(new, stamp)
    inspection = Inspection(
        organisation_id=item.organisation_id,
        item=item,
        checklist=checklist,
        depth=Depth(new.depth).value,
        inspected_at=moment.at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
        entered_by=EnteredBy(new.entered_by).value,
        looked_by=new.looked_by,
        not_looked_at=list(new.not_looked_at),
        outcome=outcome_of(assessed).value,
    )
    inspection.id = new.id or inspection.id
    inspection.read_on(moment)
    found = [each for each in assessed if each.counts_as is not Grade.NOTHING_FOUND]
    return Draft(inspection, [(_finding(inspection, each), each) for each in found])


def _finding(inspection: Inspection, assessed: Assessed) -> Finding:
    given = assessed.given
    return Finding(
        organisation_id=inspection.organisation_id,
        inspection=inspection,
        point=given.point,
        defect=given.defect,
        grade=assessed.grade.value,
        counts_as=assessed.counts_as.value,
        fixed_here=given.fixed_here,
        part=given.part,
        note=given.note,
        deal_with_by=given.deal_with_by,
    )


def _holds(draft: Draft, stamp: Stamp) -> list[NewHold]:
    """What the findings open; a finding's id is the origin, so that the same fact twice opens one hold."""
    item = draft.inspection.item
    day = local_day(min(draft.inspection.inspected_at, stamp.at), item.club.timezone)
    return [
        NewHold(
            item_id=item.id,
            reason=opening.reason,
            cause=HoldCause.FINDING,
            starts_on=opening.starts_on,
            deferred=opening.deferred,
            origin_id=finding.id,
            ends_by=opening.ends_by,
            advice=opening.advice,
        )
        for finding, assessed in draft.findings
        if (opening := assessed.opens(day))
    ]


def _mark(drafts: Iterable[Draft], items: Mapping[UUID, Item], stamp: Stamp) -> None:
    """Move the clocks' anchors to the latest whole look and full inspection, whatever they came to."""
    moments: dict[Anchor, dict[UUID, datetime]] = {}
    for inspection in (draft.inspection for draft in drafts if not draft.inspection.not_looked_at):
        for anchor in ANCHORS[Depth(inspection.depth)]:
            latest = moments.setdefault(anchor, {})
            latest[inspection.item_id] = max(latest.get(inspection.item_id, EARLIEST), inspection.inspected_at)
    for anchor, latest in moments.items():
        mark([items[item_id] for item_id in latest], anchor, latest, stamp)


def _told(draft: Draft) -> Entry:
    inspection = draft.inspection
    facts = {name: getattr(inspection, name) for name in ("depth", "outcome", "inspected_at", "not_looked_at")}
    found = [assessed.words for _, assessed in draft.findings]
    facts |= {"inspection": inspection.id, "findings": found} | inspection.clock_facts
    return Entry("inspected", inspection.item_id, facts)
