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
from gearlife.queries.namesakes import Namesake, namesakes
from gearlife.queries.recorded import read

CHUNK = 500
T = TypeVar("T")


@dataclass(frozen=True)
class ItemRecords:
    """The catalogue by normal form, and the known items by serial and by tag with what bears on taking them in.

    `namesakes` are, by serial (or tag, where a row has none), the items that it may be a spelling of; `origins` name
    the facts that have opened holds of the known items.
    """

    makers: Mapping[str, Manufacturer]
    models: Mapping[tuple[UUID, str, str], GearModel]
    by_serial: Mapping[str, Sequence[Item]]
    by_tag: Mapping[str, Item]
    certified: Mapping[UUID, set[tuple[date | None, str]]]
    lapsed: frozenset[UUID]
    namesakes: Mapping[str, Sequence[Namesake]]
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
        namesakes=_namesakes(rows, items, club.organisation_id, today),
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


def _namesakes(
    rows: Sequence[ItemRow], items: Sequence[Item], organisation_id: UUID, today: date
) -> Mapping[str, Sequence[Namesake]]:
    """Of the rows that name no known item; where all of them do, nothing is asked."""
    known = {(item.manufacturer.name_key, item.serial_key) for item in items}
    known |= {("", item.tag_key) for item in items}
    new = {row.name_key for row in rows if (row.maker_key if row.serial_key else "", row.name_key) not in known}
    return namesakes(organisation_id, filter(None, new), today) if new else {}
