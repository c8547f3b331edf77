"""What the records say of the items that a file names: a few queries for each 500 rows, locked in id order."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import TypeVar
from uuid import UUID

from gearlife.domain.intake.item_rows import ItemRow
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Anchor
from gearlife.models import Certification, Club, GearModel, Hold, Item, Manufacturer
from gearlife.queries.recorded import read

CHUNK = 500
T = TypeVar("T")


@dataclass(frozen=True)
class ItemRecords:
    """The catalogue by normal form, and the known items by serial and by tag with what bears on taking them in.

    `digits` are registered serials of figures by maker and figures without the zeros at their beginning, where the file
    has them otherwise; `origins` name the facts that have opened holds of the known items.
    """

    makers: Mapping[str, Manufacturer]
    models: Mapping[tuple[UUID, str, str], GearModel]
    by_serial: Mapping[str, Sequence[Item]]
    by_tag: Mapping[str, Item]
    certified: Mapping[UUID, set[tuple[date | None, str]]]
    lapsed: frozenset[UUID]
    digits: Mapping[tuple[UUID, str], str]
    origins: frozenset[UUID]

    def model_of(self, row: ItemRow) -> GearModel | None:
        """The known model that a row names."""
        maker = self.makers.get(row.maker_key)
        return self.models.get((maker.id, row.model_key, row.kind)) if maker and row.kind else None


def records_of(rows: Sequence[ItemRow], club: Club, today: date) -> ItemRecords:
    """Look up everything that these rows name, in the club's organisation; in a transaction."""
    items = _items(rows, club.organisation_id)
    makers = Manufacturer.objects.filter(organisation_id=club.organisation_id).order_by("id")
    models = GearModel.objects.filter(organisation_id=club.organisation_id).order_by("id")
    by_serial: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        by_serial[item.serial_key].append(item)
    return ItemRecords(
        makers={maker.name_key: maker for maker in makers},
        models={(model.manufacturer_id, model.name_key, model.kind): model for model in models},
        by_serial=by_serial,
        by_tag={item.tag_key: item for item in items if item.tag_key},
        certified=_certified(items),
        lapsed=frozenset(_lapsed(items, today)),
        digits=_digits(rows, club.organisation_id),
        origins=frozenset(_origins(items)),
    )


def chunks(values: Iterable[T]) -> Iterator[list[T]]:
    """Five hundred at a time."""
    waiting = iter(values)
    while chunk := list(islice(waiting, CHUNK)):
        yield chunk


def _items(rows: Sequence[ItemRow], organisation_id: UUID) -> list[Item]:
    ids: set[UUID] = set()
    for column in ("serial_key", "tag_key"):
        for keys in chunks(sorted({key for row in rows if (key := getattr(row, column))})):
            known = Item.objects.filter(organisation_id=organisation_id, **{f"{column}__in": keys})
            ids.update(known.values_list("id", flat=True))
    return [item for chunk in chunks(sorted(ids)) for item in Item.objects.locked(chunk)]


def _certified(items: Sequence[Item]) -> dict[UUID, set[tuple[date | None, str]]]:
    known: dict[UUID, set[tuple[date | None, str]]] = defaultdict(set)
    for chunk in chunks(item.id for item in items):
        rows = Certification.objects.filter(item_id__in=chunk).values_list("item_id", "certified_on", "firm")
        for item_id, certified_on, firm in rows:
            known[item_id].add((certified_on, normal_form(firm)))
    return known


def _lapsed(items: Sequence[Item], today: date) -> Iterator[UUID]:
    """Items that a lapsed certification stops today, by the policy in force, whatever clocks are stored."""
    for chunk in chunks(item.id for item in items):
        about = read(chunk, today)
        for item in about.items.values():
            if any(clock.anchor is Anchor.CERTIFIED for clock in about.stops(item, today)):
                yield item.id


def _origins(items: Sequence[Item]) -> Iterator[UUID]:
    for chunk in chunks(item.id for item in items):
        holds = Hold.objects.filter(item_id__in=chunk, origin_id__isnull=False)
        yield from holds.values_list("origin_id", flat=True)


def _digits(rows: Sequence[ItemRow], organisation_id: UUID) -> dict[tuple[UUID, str], str]:
    """Registered serials that begin with a zero where the file's may have lost theirs, and the other way round."""
    keys = {row.serial_key for row in rows if row.serial_key.isascii() and row.serial_key.isdecimal()}
    if not keys:
        return {}
    of_organisation = Item.objects.filter(organisation_id=organisation_id)
    shortened = sorted({stripped for key in keys if (stripped := key.lstrip("0")) not in ("", key)})
    known = [of_organisation.filter(serial_key__in=chunk) for chunk in chunks(shortened)]
    known.append(of_organisation.filter(serial_key__gte="0", serial_key__lt="1"))
    wanted = {key.lstrip("0") for key in keys}
    return {
        (maker_id, key.lstrip("0")): serial
        for found in known
        for maker_id, key, serial in found.values_list("manufacturer_id", "serial_key", "serial")
        if key.lstrip("0") in wanted and key not in keys
    }
