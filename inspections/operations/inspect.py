"""Record that items were looked over: what was found, what it stops, and which clocks it moves."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
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

# A phone's clock may be this far ahead of ours.
CLOCK_SKEW = timedelta(minutes=10)
EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
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
    """InvalidInputError with every fault: a day to come, another kind's checklist, unknown points and defects."""
    faults = []
    if not _may_have_been(new.inspected_at, stamp):
        faults.append(
            Fault("Give the moment when it was looked over; it cannot be to come.", "/inspected_at", "not_now")
        )
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


def moment_of(given: datetime | None, stamp: Stamp, pointer: str) -> datetime:
    """When a check's fact was: as given, now where it is not; InvalidInputError where it lies in the future."""
    if not _may_have_been(given, stamp):
        raise InvalidInputError.at(pointer, "Give the moment when it was; it cannot be to come.", "not_now")
    return given or stamp.at


def _may_have_been(at: datetime | None, stamp: Stamp) -> bool:
    return at is None or EARLIEST <= at <= stamp.at + CLOCK_SKEW


def _draft(new: NewInspection, item: Item, newest: Mapping[Kind, Checklist], stamp: Stamp) -> Draft:
    kind = Kind(item.kind)
    checklist = new.checklist or newest[kind]
    known = known_points(kind, checklist.points)
    assessed = [assess(kind, finding, known) for finding in new.findings]
    inspection = Inspection(
        organisation_id=item.organisation_id,
        item=item,
        checklist=checklist,
        depth=Depth(new.depth).value,
        inspected_at=new.inspected_at or stamp.at,
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
        entered_by=EnteredBy(new.entered_by).value,
        looked_by=new.looked_by,
        not_looked_at=list(new.not_looked_at),
        outcome=outcome_of(assessed).value,
    )
    inspection.id = new.id or inspection.id
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
    return Entry("inspected", inspection.item_id, {"inspection": inspection.id, "findings": found, **facts})
