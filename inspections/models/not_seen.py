"""What a check did not find: an item was not there when it was looked for."""

from django.db import models

from fitting.models import Player
from gearlife.models import Item, OfItemQuerySet, Owned
from inspections.models.device_clocks import ByDevice


class NotSeen(Owned, ByDevice):
    """The item was not there, and who had it then. It moves no anchor and is no look: the item stays due."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="not_seen")
    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="+")
    noted_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    # In a word, why; it may name somebody, so that it stays here and out of the ledger.
    note = models.CharField(max_length=200, blank=True, default="")

    objects = OfItemQuerySet.as_manager()

    class Meta:
        indexes = [
            # A round's question: when was this item last noted as not there.
            models.Index(fields=["item", "-noted_at"], name="not_seen_of_item"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-noted_at", "id"], name="not_seen_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)
