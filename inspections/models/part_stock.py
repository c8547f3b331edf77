"""A club's parts, simply counted, and what moved each count."""

from django.db import models

from gearlife.models import Club, OfClubQuerySet, Owned, one_of, word_field
from inspections.domain.part_stock import StockAct
from inspections.models.device_clocks import ByDevice
from inspections.models.parts import PadChange


class PartStock(Owned):
    """How many of a part a club has, reckoned from its entries with every new one."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    part = models.CharField(max_length=80)
    part_key = models.CharField(max_length=80)
    count = models.PositiveIntegerField()
    count_again = models.BooleanField(default=False)
    counted_at = models.DateTimeField(null=True, blank=True)

    objects = OfClubQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "part_key"], name="part_stock_once")]

    def __str__(self) -> str:
        return f"{self.count} {self.part}"


class StockEntry(Owned, ByDevice):
    """A delivery, a count, or what a change used; never changed, never removed."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    part = models.CharField(max_length=80)
    part_key = models.CharField(max_length=80)
    act = word_field(StockAct)
    count = models.PositiveIntegerField()
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    change = models.OneToOneField(PadChange, on_delete=models.PROTECT, null=True, blank=True, related_name="used")

    objects = OfClubQuerySet.as_manager()

    class Meta:
        constraints = [one_of("act", StockAct, table="stock_entry")]
        indexes = [
            models.Index(fields=["club", "part_key", "happened_at"], name="stock_entry_of_part"),
            models.Index(fields=["organisation", "-happened_at", "id"], name="stock_entry_listed"),
        ]

    def __str__(self) -> str:
        return f"{self.act} {self.count} {self.part}"
