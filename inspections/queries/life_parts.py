"""Pads and parts as marks of an item's life; what is only counted is told by its number in each season."""

from collections.abc import Collection, Iterator
from uuid import UUID

from gearlife.domain.access import Actor
from gearlife.domain.days import local_day
from gearlife.domain.life import Mark
from gearlife.queries.life import Told
from inspections.domain.parts import COUNTED_ONLY, PartSort, millimetres, part_words
from inspections.models import PadChange
from inspections.queries.parts import changes_of


def parts_put_in(item_ids: Collection[UUID], actor: Actor) -> Iterator[Told]:
    """What was put in or taken out of them, in one query; what was only noted as found is no event of a life."""
    for item_id, rows in changes_of(item_ids).items():
        for row in rows:
            if row.item_id == item_id and not row.as_found:
                yield item_id, _mark(row)


def _mark(row: PadChange) -> Mark:
    day = local_day(row.changed_at, row.item.club.timezone)
    guard = row.faceguard.label if row.faceguard else ""
    what = part_words(row.part, row.size, millimetres(row.thickness_mm), guard) if row.part else "taken out"
    counted = f"{row.position.label}s renewed".lower() if PartSort(row.position.sort) in COUNTED_ONLY else ""
    return Mark(
        day, "part", f"{row.position.label}: {row.part or 'out'}", f"{row.position.label}: {what}.", counted=counted
    )
