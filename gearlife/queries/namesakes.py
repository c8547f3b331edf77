"""Known items that a serial may be a spelling of: a retired helmet must not come back as another item."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Q

from gearlife.domain.normal_form import normal_form
from gearlife.domain.spellings import Spellings
from gearlife.models import Hold, Item, ItemQuerySet
from gearlife.queries.recorded import read

CHUNK = 500


@dataclass(frozen=True)
class Namesake:
    """A known item; `state` is empty where nothing keeps it out of use and no hold of it is yet to begin."""

    item_id: UUID
    label: str
    serial_key: str
    maker_key: str
    words: str
    state: str


def namesakes(organisation_id: UUID, names: Iterable[str], day: date) -> Mapping[str, Sequence[Namesake]]:
    """By name (a serial, or a tag where there is none) the items that bear it or the like, of any maker and club.

    Those that are out of use come first. One query reads the names of all items, a few more each 500 that are found.
    """
    names = list(names)
    wanted = Spellings(names)
    bearers: dict[str, set[UUID]] = defaultdict(set)
    items = Item.objects.filter(organisation_id=organisation_id)
    columns = (_narrowed(items, *names) if len(names) == 1 else items).values_list("id", "serial_key", "tag_key")
    for item_id, serial_key, tag_key in columns.order_by("id").iterator(chunk_size=2000):
        for borne in filter(None, (serial_key, tag_key)):
            for name in wanted.of(borne):
                bearers[name].add(item_id)
    known = _read(sorted(set().union(*bearers.values())), day)
    return {name: sorted((known[id_] for id_ in ids), key=_out_of_use_first) for name, ids in bearers.items()}


def _narrowed(items: ItemQuerySet, name: str) -> ItemQuerySet:
    """Those that have every letter and figure of the name but zeros, as each of its spellings has."""
    for character in sorted(set(filter(str.isalnum, normal_form(name))) - {"0"}):
        items = items.filter(Q(serial_key__contains=character) | Q(tag_key__contains=character))
    return items


def _out_of_use_first(namesake: Namesake) -> tuple[bool, UUID]:
    return not namesake.state, namesake.item_id


def _read(ids: Sequence[UUID], day: date) -> dict[UUID, Namesake]:
    known = Item.objects.select_related("club", "manufacturer")
    found: dict[UUID, Namesake] = {}
    for part in (ids[start : start + CHUNK] for start in range(0, len(ids), CHUNK)):
        held = set(Hold.objects.open().filter(item__in=part).values_list("item_id", flat=True))
        # By the policy in force, whatever clocks are stored.
        about = read(part, day)
        limited = {item.id for item in about.items.values() if any(about.stops(item, day))}
        for item in known.filter(id__in=part):
            found[item.id] = _namesake(
                item, "is held" if item.id in held else "is stopped" if item.id in limited else ""
            )
    return found


def _namesake(item: Item, state: str) -> Namesake:
    return Namesake(
        item_id=item.id,
        label=item.label,
        serial_key=item.serial_key,
        maker_key=item.manufacturer.name_key,
        words=f"'{item.label}' of '{item.manufacturer}' ({item.club})",
        state=f"was retired on {item.retired_on}" if item.retired_on else state,
    )
