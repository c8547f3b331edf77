"""Which checklist counts: the newest revision of a kind."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.vocabulary import Kind
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from inspections.models import Checklist


def newest_checklists(organisation_id: UUID) -> dict[Kind, Checklist]:
    """The newest revision of each kind, in one query."""
    revisions = _revisions().instances(organisation=organisation_id)
    return {Kind(checklist.kind): checklist for checklist in revisions}


@compiled
def _revisions() -> QuerySet[Any, Any]:
    revisions = Checklist.objects.filter(organisation_id=given.one_id("organisation"))
    return revisions.order_by("revision")
