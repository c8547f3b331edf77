"""What a change of rules would do to an organisation's gear: read in chunks, in bounded memory."""

from collections.abc import Iterator, Mapping
from datetime import date
from functools import cache
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.previews import Preview, count
from gearlife.domain.recorded import RuleRecord
from gearlife.models import Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.recorded import read_facts

CHUNK = 1000
FIRST = UUID(int=0)


def preview_of(organisation_id: UUID, changed: Mapping[UUID, RuleRecord], *, felt_on: date, stamp: Stamp) -> Preview:
    """Count what differs once these rules, new ones and ended ones, stand beside or instead of those in force.

    Each item as of the day on which it is first felt, or of its club's own day where that is later.
    """
    preview = Preview(max(felt_on, stamp.day), later=felt_on > stamp.day)

    @cache
    def today(timezone: str) -> date:
        return local_day(stamp.at, timezone)

    for ids in _chunks(organisation_id):
        before = read_facts(ids)
        count(preview, before, {**before.rules, **changed}, today)
    return preview


def _chunks(organisation_id: UUID) -> Iterator[list[UUID]]:
    ids = [FIRST]
    while ids := [id_ for (id_,) in _next().values(organisation=organisation_id, after=ids[-1])]:
        yield ids


@compiled
def _next() -> QuerySet[Any, Any]:
    """In the order of the key, so that the next chunk is found at once wherever it begins."""
    in_use = Item.objects.filter(organisation_id=given.one_id("organisation"), retired_on__isnull=True)
    return in_use.filter(id__gt=given.one_id("after")).order_by("id").values_list("id")[:CHUNK]
