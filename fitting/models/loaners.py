"""Loaners: which items of the room were set up for which band of sizes, by whom and when."""

from typing import Self

from django.db import models
from django.db.models import Q

from fitting.domain.vocabulary import LoanerEnds
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item, Owned, one_of, word_field
from gearlife.models.holds import OfItemQuerySet


class LoanerQuerySet(OfItemQuerySet):
    """Loaners; whoever sees the item sees them."""

    def open(self) -> Self:
        """Those not ended by an act; whether they still hold is asked of the records (`queries/loaners`)."""
        return self.filter(ended_at__isnull=True)


class Loaner(Owned):
    """An item was set up to be lent to whoever lies in a band of sizes.

    `bands` are `{measure, from_mm, to_mm}` (`domain.loaners.restored` reads them); `size` is the item's as its label
    said then.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="loaners")
    kind = word_field(Kind)
    size = models.CharField(max_length=24, blank=True, default="")
    bands = models.JSONField()
    pads_and_air = models.CharField(max_length=300, blank=True, default="")
    prepared_at = models.DateTimeField()
    prepared_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = word_field(LoanerEnds, blank=True)

    objects = LoanerQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="loaner"),
            one_of("ended_by", LoanerEnds, table="loaner", blank=True),
            models.UniqueConstraint(fields=["item"], condition=Q(ended_at__isnull=True), name="loaner_open_per_item"),
        ]
        indexes = [models.Index(fields=["organisation", "-prepared_at", "id"], name="loaner_listed")]

    def __str__(self) -> str:
        return str(self.id)
