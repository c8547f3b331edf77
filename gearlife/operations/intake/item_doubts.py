"""What stops a doubtful item that is taken in all the same: one hold, which names every doubt of its row."""

from collections.abc import Sequence
from uuid import uuid5

from gearlife.domain.intake.faults import CellFault, shown
from gearlife.domain.vocabulary import Advice
from gearlife.models import Item
from gearlife.operations.holds import NewHold

LONGEST = 500


def hold_of(item: Item, doubts: Sequence[CellFault]) -> NewHold:
    """The hold; the same cells doubted again are the same fact, also once the hold has been released."""
    fact = "\n".join(f"{doubt.column} {doubt.value}" for doubt in doubts)
    words = "; ".join(_words(doubt) for doubt in doubts)
    return NewHold(
        item_id=item.id,
        reason=f"Taken in doubtful from a file: {words}"[:LONGEST],
        origin_id=uuid5(item.id, fact),
        advice=Advice.CHECK_RECORDS,
    )


def _words(doubt: CellFault) -> str:
    left = " It was left unknown." if doubt.column == "made_on" else ""
    return f"{doubt.column} '{shown(doubt.value)}': {doubt.reason.removeprefix('doubtful: ')}.{left}"
