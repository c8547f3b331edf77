"""Which checklist counts: the newest revision of a kind."""

from uuid import UUID

from gearlife.domain.vocabulary import Kind
from inspections.models import Checklist


def newest_checklists(organisation_id: UUID) -> dict[Kind, Checklist]:
    """The newest revision of each kind, in one query."""
    revisions = Checklist.objects.filter(organisation_id=organisation_id).order_by("revision")
    return {Kind(checklist.kind): checklist for checklist in revisions}
