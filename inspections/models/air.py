"""The air in helmets: each record of a cell, and what is known of a model's cells."""

from django.db import models
from django.db.models import Q

from gearlife.models import GearModel, Item, OfItemQuerySet, Owned, OwnedQuerySet, one_of, word_field
from inspections.domain.air_records import Act, Felt, Measured, ModelAir, Range
from inspections.domain.vocabulary import Grade
from inspections.models.device_clocks import ByDevice


class AirRecord(Owned, ByDevice):
    """One cell's air was looked after: what was done, how it felt, a gauge's numbers where there was one.

    It is never changed: what was wrong is followed by another one. `happened_at` is the moment as it counts.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="air_records")
    cell = models.CharField(max_length=24)
    act = word_field(Act)
    felt = word_field(Felt, blank=True)
    # The gauge's, after the act; pressures in kPa, the barometer's on the spot and not reduced to sea level.
    pressure_kpa = models.FloatField(null=True, blank=True)
    temperature_c = models.FloatField(null=True, blank=True)
    elevation_m = models.FloatField(null=True, blank=True)
    barometric_kpa = models.FloatField(null=True, blank=True)
    strokes = models.PositiveSmallIntegerField(null=True, blank=True)
    counts_as = word_field(Grade, default=Grade.NOTHING_FOUND)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = OfItemQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("act", Act, table="air_record"),
            one_of("felt", Felt, table="air_record", blank=True),
            one_of("counts_as", Grade, table="air_record"),
        ]
        indexes = [
            models.Index(fields=["item", "-happened_at"], name="air_record_of_item"),
            # Which items a day's records touch, and those that leave the window of the leak test.
            models.Index(fields=["organisation", "-happened_at", "id"], name="air_record_listed"),
        ]

    def __str__(self) -> str:
        return f"{self.cell} {self.act}"

    @property
    def measured(self) -> Measured:
        """Its numbers."""
        return Measured(self.pressure_kpa, self.temperature_c, self.elevation_m, self.barometric_kpa, self.strokes)


class AirOfModel(Owned):
    """What the maker states of the air in a model: its cells by name, and what a gauge should read at them.

    Both ends of the range are there or none; a range names where it is stated.
    """

    model = models.OneToOneField(GearModel, on_delete=models.PROTECT, related_name="air")
    cells = models.JSONField()
    lowest_kpa = models.FloatField(null=True, blank=True)
    highest_kpa = models.FloatField(null=True, blank=True)
    stated_in = models.CharField(max_length=120, blank=True, default="")
    # What a reading outside of the range counts as.
    outside_counts_as = word_field(Grade, default=Grade.REPAIR)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("outside_counts_as", Grade, table="air_of_model"),
            models.CheckConstraint(
                condition=Q(lowest_kpa__isnull=True, highest_kpa__isnull=True)
                | Q(lowest_kpa__gte=0, highest_kpa__gt=models.F("lowest_kpa")) & ~Q(stated_in=""),
                name="air_of_model_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.model_id}"

    @property
    def as_stated(self) -> ModelAir:
        """What it says, as plain values."""
        stated = None
        if self.lowest_kpa is not None and self.highest_kpa is not None:
            stated = Range(self.lowest_kpa, self.highest_kpa, self.stated_in, Grade(self.outside_counts_as))
        return ModelAir(tuple(self.cells), stated)
