"""What stops a doubtful item that is taken in all the same: a hold for each doubtful cell, which names its doubts."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from uuid import uuid5

from gearlife.domain.intake.faults import CellFault, shown
from gearlife.domain.vocabulary import Advice
from gearlife.models import Item
from gearlife.operations.holds import NewHold

LONGEST = 500


def holds_of(item: Item, doubts: Iterable[CellFault]) -> list[NewHold]:
    """The holds; the same cell doubted again is the same fact, also once its hold has been released."""
    of_cells: dict[tuple[str, str], list[CellFault]] = defaultdict(list)
    for doubt in doubts:
        of_cells[doubt.column, doubt.value].append(doubt)
    return [
        NewHold(
            item_id=item.id,
            reason=f"Taken in doubtful from a file: {_words(column, value, of_cell)}"[:LONGEST],
            origin_id=uuid5(item.id, f"{column} {value}"),
            advice=Advice.CHECK_RECORDS,
        )
        for (column, value), of_cell in of_cells.items()
    ]


def _words(column: str, value: str, doubts: Sequence[CellFault]) -> str:
    reasons = "; ".join(doubt.reason.removeprefix("doubtful: ") for doubt in doubts)
    return f"{column} '{shown(value)}': {reasons}.{' It was left unknown.' if column == 'made_on' else ''}"
