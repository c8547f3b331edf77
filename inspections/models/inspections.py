"""Inspections: only what was found is stored, with the revision that says what was looked at."""

from django.db import models

from gearlife.models import Item, OfItemQuerySet, Owned, OwnedQuerySet, one_of, word_field
from inspections.domain.vocabulary import Depth, EnteredBy, Grade
from inspections.models.checklists import Checklist
from inspections.models.device_clocks import ByDevice


class Inspection(Owned, ByDevice):
    """One looking-over of one item: when it was done, as it counts, and when the record arrived."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="inspections")
    checklist = models.ForeignKey(Checklist, on_delete=models.PROTECT, related_name="+")
    depth = word_field(Depth, default=Depth.LOOK)
    inspected_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    # Whose eyes it was where that is not who recorded it, as a sheet of paper says: a name, so it stays here.
    looked_by = models.CharField(max_length=80, blank=True, default="")
    entered_by = word_field(EnteredBy, default=EnteredBy.TAPPED)
    not_looked_at = models.JSONField(default=list, blank=True)
    outcome = word_field(Grade, default=Grade.NOTHING_FOUND)

    objects = OfItemQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("depth", Depth, table="inspection"),
            one_of("entered_by", EnteredBy, table="inspection"),
            one_of("outcome", Grade, table="inspection"),
        ]
        indexes = [
            models.Index(fields=["item", "-inspected_at"], name="inspection_of_item"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-inspected_at", "id"], name="inspection_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)


class Finding(Owned):
    """One fault at one point: `grade` as given, `counts_as` as counted."""

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="findings")
    point = models.SlugField(max_length=40)
    defect = models.SlugField(max_length=40, blank=True, default="")
    grade = word_field(Grade)
    counts_as = word_field(Grade)
    fixed_here = models.BooleanField(default=False)
    part = models.CharField(max_length=80, blank=True, default="")
    note = models.CharField(max_length=500, blank=True, default="")
    deal_with_by = models.DateField(null=True, blank=True)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("grade", Grade, table="finding"),
            one_of("counts_as", Grade, table="finding"),
        ]

    def __str__(self) -> str:
        return f"{self.point} {self.defect}"
