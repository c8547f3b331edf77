"""Corrections of retirements that were recorded on a mistyped serial."""

from django.db import models
from django.db.models import F, Q

from gearlife.models.base import Owned
from gearlife.models.holds import OfItemQuerySet
from gearlife.models.proposals import Proposed


class RetirementCorrection(Owned, Proposed):
    """One person proposes it with a photo of the serial, another agrees; what was corrected is kept here."""

    item = models.ForeignKey("gearlife.Item", on_delete=models.PROTECT, related_name="+")
    retired_on = models.DateField()
    retired_reason = models.CharField(max_length=500)
    # What should have been retired: the item where it is registered, else its serial as it was given.
    right_item = models.ForeignKey("gearlife.Item", on_delete=models.PROTECT, null=True, related_name="+")
    right_serial = models.CharField(max_length=64, blank=True, default="")
    agreed_at = models.DateTimeField(null=True, blank=True)
    agreed_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    agreed_reason = models.CharField(max_length=500, blank=True, default="")

    objects = OfItemQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=Q(agreed_at__isnull=True), name="correction_proposed_once"
            ),
            models.CheckConstraint(
                condition=Q(agreed_at__isnull=True) | (Q(agreed_by__isnull=False) & ~Q(agreed_by=F("proposed_by"))),
                name="correction_by_two_people",
            ),
        ]

    def __str__(self) -> str:
        return f"of the retirement on {self.retired_on}"
