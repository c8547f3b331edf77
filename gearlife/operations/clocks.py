"""Bring the stored clocks of items into line with the recorded facts, the rules and the seasons."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.ids import uuid7
from gearlife.domain.recorded import CLOCK, CLOCK_COLUMNS, ClockRecord, ItemRecord, Recorded
from gearlife.models import Clock, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.models.inserting import insert_values

CHUNK = 500
COLUMNS = ("id", "version", "organisation_id", "item_id", *CLOCK_COLUMNS)


def recompute(about: Recorded) -> int:
    """Reckon the clocks of the items read; rows that are right already stay untouched. How many items had others.

    Afterwards `about` has them as well.
    """
    stored = _stored_of(about.items)
    fresh: list[tuple[object, ...]] = []
    gone: list[UUID] = []
    changed = 0
    for item in about.items.values():
        about.clocks[item.id] = about.reckoned(item)
        known = stored.get(item.id, {})
        wanted = {CLOCK(clock) for clock in about.clocks[item.id]}
        gone += [id_ for columns, id_ in known.items() if columns not in wanted]
        fresh += [_row(item, clock) for clock in about.clocks[item.id] if CLOCK(clock) not in known]
        changed += known.keys() != wanted
    for start_ in range(0, len(gone), CHUNK):
        Clock.objects.filter(id__in=gone[start_ : start_ + CHUNK]).delete()
    insert_values(Clock, COLUMNS, fresh)
    _note_revision(about)
    return changed


def start(about: Recorded) -> None:
    """Insert the clocks of items that were just made and have none; afterwards `about` has them as well."""
    for item in about.items.values():
        about.clocks[item.id] = about.reckoned(item)
    items = about.items
    insert_values(Clock, COLUMNS, [_row(items[c.item_id], c) for clocks in about.clocks.values() for c in clocks])
    _note_revision(about)


def _note_revision(about: Recorded) -> None:
    """Write down under which policy the clocks were reckoned: the one read before its rules were."""
    stale: dict[int, list[UUID]] = defaultdict(list)
    for item in about.items.values():
        # An item that came from another club may have been ahead of this one.
        if item.clocks_revision != item.policy_revision:
            stale[item.policy_revision].append(item.id)
    for revision, item_ids in stale.items():
        Item.objects.filter(id__in=item_ids).update(clocks_revision=revision)


def _row(item: ItemRecord, clock: ClockRecord) -> tuple[object, ...]:
    return uuid7(), 1, item.organisation_id, item.id, *CLOCK(clock)


def _stored_of(item_ids: Iterable[UUID]) -> dict[UUID, dict[tuple[Any, ...], UUID]]:
    """The stored clocks of items, by what they say."""
    stored: dict[UUID, dict[tuple[Any, ...], UUID]] = defaultdict(dict)
    for item_id, clock_id, *columns in _stored().values(ids=list(item_ids)):
        stored[item_id][tuple(columns)] = clock_id
    return stored


@compiled
def _stored() -> QuerySet[Any, Any]:
    return Clock.objects.filter(item_id__in=given.ids("ids")).values_list("item_id", "id", *CLOCK_COLUMNS)
