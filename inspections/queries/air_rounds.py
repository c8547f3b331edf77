"""Whose air is still to be looked after: the worn items of a team whose liners hold air, and an item's cells."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from gearlife.domain.access import Actor
from gearlife.domain.days import local_day
from gearlife.domain.recorded import WITH_AIR
from gearlife.domain.vocabulary import Anchor
from gearlife.models import Item
from gearlife.queries.recorded import read
from inspections.domain.air_records import Kept, cell_words
from inspections.models import AirOfModel
from inspections.queries.air import air_of_models, records_of
from inspections.queries.rounds import Place, round_of

Row = dict[str, Any]
# Where no rule says how often: common practice, no source.
USUAL_DAYS = 7


@dataclass(frozen=True)
class Cell:
    """One cell of an item: its name, and what was recorded of it last."""

    name: str
    last: Kept | None
    today: bool

    @property
    def words(self) -> str:
        """Its name as it is read."""
        return cell_words(self.name)


def air_round_of(place: Place, actor: Actor, at: datetime) -> list[Row]:
    """The round's lines of what holds air, each with `air_at`, its last check, and whether it is `open`."""
    lines = round_of(place, actor, at)
    holding = holding_air([row["id"] for row in lines])
    due = _due(holding, place.day)
    return [
        row | {"air_at": holding[row["id"]].last_air_check_at, "open": row["id"] in due}
        for row in lines
        if row["id"] in holding
    ]


def next_in_air_round(lines: Iterable[Row], after: UUID) -> Row | None:
    """The next line that is open, from the one after this item on, and round again to the first."""
    order = list(lines)
    at = next((place for place, row in enumerate(order) if row["id"] == after), -1)
    return next((row for row in (*order[at + 1 :], *order[: at + 1]) if row["open"] and row["id"] != after), None)


def holding_air(item_ids: Iterable[UUID]) -> dict[UUID, Item]:
    """Those of the items whose liners hold air by what is recorded of their models, with club and model."""
    words = [liner.value for liner in WITH_AIR]
    items = Item.objects.filter(id__in=list(item_ids)).select_related("model", "club")
    stated = set(AirOfModel.objects.filter(model__items__in=items).values_list("model_id", flat=True))
    return {item.id: item for item in items if item.model.liner in words or item.model_id in stated}


def cells_of(item: Item, day: date, since: datetime) -> list[Cell]:
    """The cells of an item in the order of the booklet, each with what was recorded last since a moment."""
    last = {record.cell: record for record in records_of([item.id], since).get(item.id, ())}
    names = air_of_models([item.model_id])[item.model_id].cells
    return [Cell(name, last.get(name), name in last and last[name].on == day) for name in names]


def _due(items: dict[UUID, Item], day: date) -> set[UUID]:
    """The items whose air check has fallen by their rule; where none asks, those that had none for a week."""
    about = read(items, day)
    due = set()
    for id_, item in items.items():
        falls = [clock.falls_on for clock in about.clocks.get(id_, ()) if clock.anchor is Anchor.AIR_CHECK]
        if min(falls, default=_usual(item)) <= day:
            due.add(id_)
    return due


def _usual(item: Item) -> date:
    at = item.last_air_check_at
    return local_day(at, item.club.timezone) + timedelta(days=USUAL_DAYS) if at else item.taken_in_on
