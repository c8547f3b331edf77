"""Air as marks of an item's life: checks and top-ups are counted by the season, what would not hold is named."""

from collections.abc import Collection, Iterator
from typing import Any

from django.db.models import QuerySet

from gearlife.domain.access import Actor
from gearlife.domain.days import local_day
from gearlife.domain.life import Mark
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.life import Told
from inspections.domain.air_records import Act, Felt, cell_words, said
from inspections.domain.vocabulary import Grade
from inspections.models import AirRecord

COLUMNS = ("item_id", "cell", "act", "felt", "counts_as", "happened_at", "item__club__timezone")
COUNTED = {Act.READING: "air checks", Act.ADDED: "times air added", Act.RELEASED: "times air released"}
GRADES = [grade.value for grade in Grade]


def air_kept(item_ids: Collection[Any], actor: Actor) -> Iterator[Told]:
    """Every record of their air, in one query."""
    for item_id, cell, act, felt, counts_as, happened_at, zone in _records().values(items=item_ids):
        day, what, where = local_day(happened_at, zone), said(act, felt), cell_words(cell)
        if felt == Felt.WONT_HOLD or counts_as not in (Grade.NOTHING_FOUND, Grade.WEAR):
            words = f"Air, {where}: {what} ({counts_as})."
            yield item_id, Mark(day, "found", f"air: {what}", words, GRADES.index(counts_as))
        else:
            yield item_id, Mark(day, act, what, f"Air, {where}: {what}.", counted=COUNTED[Act(act)])


@compiled
def _records() -> QuerySet[Any, Any]:
    rows = AirRecord.objects.filter(item_id__in=given.ids("items"))
    return rows.order_by("happened_at", "id").values_list(*COLUMNS)
