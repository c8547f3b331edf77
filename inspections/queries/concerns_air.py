"""Concerns about air: a leak is suspected, or a gauge read outside of what the maker states. Neither stops anything.

A cell that will not hold air holds its item by a hold; that a check is due is said by the clock of its policy rule.
"""

from collections.abc import Iterator
from datetime import date
from uuid import UUID

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.recorded import ItemRecord, Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity, Whereabouts
from gearlife.queries.concerns import Concern
from inspections.domain.air_records import Kept, Range, cell_words
from inspections.queries.air import air_of_models, last_pressures, leaks_of

IN_SIGHT = (Whereabouts.PLAYER, Whereabouts.STOCK)
TOP_UP = "Top it up, and feel again within days: a liner that then needs air again is leaking."
REPLACE = "A liner that needs air again within days is leaking: replace the cell."


class LeakConcern(Concern):
    """It loses air faster than the others of its model: top it up, or replace the cell where that does not last."""

    kind = "air_leak"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item in sight whose records in the window say so; only alerts ask."""
        if reach is not Reach.LEAD:
            return
        seen = _in_sight(about)
        for item_id, verdict in leaks_of(list(seen), day).items() if seen else ():
            if verdict.suspected:
                advice, what = (Advice.REPLACE, REPLACE) if verdict.heavy else (Advice.TOP_UP_AIR, TOP_UP)
                words = f"A leak is suspected. {verdict.because} {what}"
                yield _hit(self.kind, seen[item_id], advice, verdict.on or day, words)


class OutOfRangeConcern(Concern):
    """A gauge last read a cell outside of the maker's range; a reading inside ends it, and so does moved air."""

    kind = "air_out_of_range"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per cell of which that is the last that is known; only alerts ask."""
        if reach is not Reach.LEAD:
            return
        seen = _in_sight(about)
        of_models = air_of_models({item.model_id for item in seen.values()}) if seen else {}
        stated = {id_: item for id_, item in seen.items() if of_models[item.model_id].stated}
        for item_id, records in last_pressures(list(stated), day).items() if stated else ():
            for record in records:
                if words := _outside(record, of_models[stated[item_id].model_id].stated):
                    yield _hit(self.kind, stated[item_id], Advice.TOP_UP_AIR, record.on, words)


def _in_sight(about: Recorded) -> dict[UUID, ItemRecord]:
    return {item.id: item for item in about.items.values() if item.whereabouts in IN_SIGHT and not item.retired_on}


def _outside(record: Kept, stated: Range | None) -> str:
    """What is said of a reading outside of the range; nothing of one inside, or of none."""
    kpa = record.measured.pressure_kpa
    if stated is None or kpa is None or stated.holds(kpa):
        return ""
    return f"{cell_words(record.cell).capitalize()}: {stated.words(kpa)}"


def _hit(kind: str, item: ItemRecord, advice: Advice, falls_on: date, because: str) -> Hit:
    return Hit(
        kind=kind,
        effect=Effect.WARN,
        advice=advice,
        severity=Severity.ACT,
        club_id=item.club_id,
        item_id=item.id,
        falls_on=falls_on,
        because=because,
    )
