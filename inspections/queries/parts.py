"""What is in items, read for many at once: positions, approved parts, changes, guards."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import date, datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from fitting.domain.fit_staleness import Cause, Event
from gearlife.domain.days import local_day
from gearlife.models import Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from inspections.domain.parts import Change, Fitted, Stay, Step, configuration, refits, stays
from inspections.models import Faceguard, PadChange, PadPosition, PartPolicy


def changes_of(item_ids: Collection[UUID]) -> dict[UUID, list[PadChange]]:
    """Every change of these items, by item, and with each those that took a faceguard elsewhere; one query."""
    rows: list[PadChange] = _changes().instances(items=list(item_ids)) if item_ids else []
    of_guard: dict[UUID, list[PadChange]] = defaultdict(list)
    found: dict[UUID, list[PadChange]] = {id_: [] for id_ in item_ids}
    for row in rows:
        if row.faceguard_id:
            of_guard[row.faceguard_id].append(row)
        if row.item_id in found:
            found[row.item_id].append(row)
    for item_id, own in found.items():
        guards = {row.faceguard_id for row in own if row.faceguard_id}
        own += [row for guard in guards for row in of_guard[guard] if row.item_id != item_id]
    return found


def as_change(row: PadChange) -> Change:
    """A row as the rules take it; its position is beside it."""
    fitted = Fitted(row.part, row.part_key, row.size, row.thickness_mm, row.faceguard_id, row.approved)
    return Change(
        row.id, row.item_id, row.position.as_position(), row.changed_at, row.recorded_at, fitted, row.as_found
    )


def now_in(item: Item, rows: Iterable[PadChange], on: date | None = None) -> dict[UUID, Step]:
    """What is in each position of the item, by position; at the end of a day on its club's calendar, or now."""
    zone = item.club.timezone
    known = (row for row in rows if on is None or local_day(row.changed_at, zone) <= on)
    return configuration(item.id, map(as_change, known))


def in_it_at(item_id: UUID, rows: Iterable[PadChange], at: datetime | None = None) -> dict[UUID, Step]:
    """The same at a moment; whenever, where none is given."""
    return configuration(item_id, (as_change(row) for row in rows if at is None or row.changed_at <= at))


def positions_of(model_id: UUID) -> list[PadPosition]:
    """The model's positions in the order in which they were entered, each with its approved parts; two queries."""
    positions = PadPosition.objects.filter(model_id=model_id).prefetch_related("approved_parts")
    return list(positions.order_by("id"))


def holds_unapproved(organisation_id: UUID) -> bool:
    """Whether an unapproved part holds its item: as was decided last, and it does where nothing was."""
    decided = PartPolicy.objects.filter(organisation_id=organisation_id).order_by("-decided_at", "-id")
    return decided.values_list("hold_unapproved", flat=True).first() is not False


def pads_changed(item_ids: Collection[UUID]) -> Iterator[tuple[UUID, Event]]:
    """What makes the fits of items stale: a part of another size or thickness; one query."""
    for item_id, rows in changes_of(item_ids).items():
        zones = {row.id: row.item.club.timezone for row in rows}
        for change in refits(item_id, map(as_change, rows)):
            yield item_id, Event(Cause.OTHER_PAD, local_day(change.at, zones[change.id]), change.noted_at)


def guards_of(club_id: UUID) -> QuerySet[Faceguard]:
    """The club's guards that are not discarded, by label."""
    return Faceguard.objects.filter(club_id=club_id, discarded_on=None).order_by("label_key", "id")


def wearing_now(guards: Collection[Faceguard]) -> dict[UUID, Item]:
    """The helmet that each of these guards is on, by guard; those that are on none are left out. Two queries."""
    last = PadChange.objects.filter(faceguard__in=guards).order_by("changed_at", "id")
    place = dict(last.values_list("faceguard_id", "item_id"))
    rows = changes_of(set(place.values()))
    found = {}
    for guard, item_id in place.items():
        on_it = {step.now.fitted.guard for step in in_it_at(item_id, rows[item_id]).values() if step.now}
        if guard in on_it:
            found[guard] = next(row.item for row in rows[item_id] if row.item_id == item_id)
    return found


def stays_of(guard: Faceguard) -> list[tuple[Item, Stay]]:
    """Which helmets the guard was on, the latest first; two queries."""
    items = {row.item_id: row.item for row in guard.changes.select_related("item__club")}
    found = [
        (items[item_id], stay)
        for item_id, rows in changes_of(items).items()
        for stay in stays(item_id, map(as_change, rows), guard.id)
    ]
    return sorted(found, key=lambda each: (each[1].since.at, each[1].since.id), reverse=True)


@compiled
def _changes() -> QuerySet[PadChange]:
    guards = PadChange.objects.filter(item_id__in=given.ids("items"), faceguard__isnull=False).values("faceguard_id")
    rows = PadChange.objects.filter(Q(item_id__in=given.ids("items")) | Q(faceguard_id__in=guards))
    beside: QuerySet[PadChange] = rows.select_related("item__club", "position", "faceguard", "recorded_by")
    return beside.order_by("changed_at", "id")
