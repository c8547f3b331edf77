"""An item that is named like a retired or stopped one is stopped itself until somebody has looked at both."""

from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Advice
from gearlife.models import Item
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.ledger import Entry
from gearlife.queries.namesakes import namesakes

LONGEST = 500


def hold_namesake(item: Item, stamp: Stamp) -> list[Entry]:
    """Hold an item just named, where its serial (or tag) may be another's that is out of use; the caller settles."""
    name = item.serial_key or item.tag_key
    others = namesakes(item.organisation_id, [name], stamp.day).get(name, ())
    stopped = next((other for other in others if other.state and other.item_id != item.id), None)
    if stopped is None or item.retired_on:
        return []
    reason = (
        f"Named '{item.serial or item.tag}', much like {stopped.words}, which {stopped.state}. "
        "Is it the same one? Look at the shell before this hold is released."
    )
    return open_holds([NewHold(item.id, reason[:LONGEST], advice=Advice.CHECK_RECORDS)], stamp)[1]
