"""Photographs of gear, rebuilt from their pixels; evidence for ends of holds."""

from django.db import models

from gearlife.models.base import Owned
from gearlife.models.organisations import Club, OfClubQuerySet


class Photo(Owned):
    """One stored picture; the original's hash is kept, the original is not."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    path = models.CharField(max_length=200)
    original_sha256 = models.CharField(max_length=64)
    stored_sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    received_at = models.DateTimeField()
    received_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = OfClubQuerySet.as_manager()

    def __str__(self) -> str:
        return str(self.id)
