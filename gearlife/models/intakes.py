"""Intakes: each file that was taken in, and what it did."""

from django.db import models

from gearlife.models.base import Owned
from gearlife.models.organisations import Club, OfClubQuerySet


class Intake(Owned):
    """The report of one accepted file; a refused one leaves no row."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    of = models.CharField(max_length=24)
    checked_only = models.BooleanField(default=False)
    filename = models.CharField(max_length=200, blank=True, default="")
    sha256 = models.CharField(max_length=64)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    rows = models.PositiveIntegerField()
    added = models.PositiveIntegerField()
    changed = models.PositiveIntegerField()
    unchanged = models.PositiveIntegerField()
    notes = models.JSONField(default=list)

    objects = OfClubQuerySet.as_manager()

    def __str__(self) -> str:
        return self.filename
