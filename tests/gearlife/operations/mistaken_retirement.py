"""A retirement on a mistyped serial, and the two people who take it back."""

from dataclasses import dataclass
from typing import Any

from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Anchor
from gearlife.models import Hold, Item, RetirementCorrection
from gearlife.operations import items
from gearlife.operations.retirement_corrections import Correction, correct_retirement
from tests.factories import DAY, ItemFactory, later, officer, photo, stamp


@dataclass
class Mistake:
    """A retired item and two officers of its club."""

    item: Item
    first: Actor
    second: Actor

    def correct(self, by: Actor, **said: Any) -> RetirementCorrection:
        """One person's call."""
        reason = said.pop("reason", "The 6 is an 8.")
        return correct_retirement(item=self.item, new=Correction(reason, **said), stamp=stamp(by))

    def corrected(self, **said: Any) -> RetirementCorrection:
        """Both calls."""
        self.correct(self.first, photo=photo(self.item.club), **said)
        correction = self.correct(self.second)
        self.item.refresh_from_db()
        return correction


def mistake(item: Item | None = None) -> Mistake:
    """An item that was retired by mistake."""
    item = item or ItemFactory.create()
    items.retire(item=item, reason="shell cracked", on=None, stamp=stamp(item.organisation))
    return Mistake(item, officer(item.club), officer(item.club))


def open_reasons(item: Item) -> set[str]:
    return set(Hold.objects.in_force(DAY).filter(item=item).values_list("reason", flat=True))


def inspected(item: Item, *, minutes: int) -> None:
    """It was inspected in full so long after the correction."""
    at = later(stamp(item.organisation), minutes=minutes)
    items.mark(Item.objects.locked([item.id]), Anchor.FULL_INSPECTION, {item.id: at.at}, at)
