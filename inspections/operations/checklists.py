"""Checklists: a new revision beside the old ones, which never change."""

from uuid import UUID

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.operations.ledger import Entry, record
from gearlife.operations.unique import insert_unique
from inspections.domain.checklists import Points, faults_of_revision
from inspections.models import Checklist
from inspections.queries.checklists import newest_checklists


@transaction.atomic
def add_revision(*, kind: Kind, points: Points, stamp: Stamp, id: UUID | None = None) -> Checklist:  # noqa: A002 - the contract's word
    """Add the next revision of a kind's checklist; InvalidInputError with every fault of its points."""
    if faults := list(faults_of_revision(kind, points)):
        raise InvalidInputError("The points cannot be taken as they are.", faults=faults)
    newest = newest_checklists(stamp.actor.organisation_id).get(kind)
    checklist = Checklist(
        organisation_id=stamp.actor.organisation_id,
        kind=kind.value,
        revision=newest.revision + 1 if newest else 1,
        points=[dict(point) for point in points],
        created_at=stamp.at,
    )
    checklist.id = id or checklist.id
    insert_unique(checklist, "Somebody added a revision at the same moment; read it first.", "revision_taken")
    told = {"checklist": checklist.id, "kind": kind.value, "revision": checklist.revision}
    record(checklist.organisation_id, [Entry("checklist_revised", facts=told)], stamp)
    return checklist
