"""Photographs of gear, rebuilt from their pixels; evidence for ends of holds."""

from typing import Self

from django.db import models
from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.models.base import Owned
from gearlife.models.organisations import Club, OfClubQuerySet


class PhotoQuerySet(OfClubQuerySet):
    """Photographs: whoever sees the club sees them."""

    def reportable_by(self, actor: Actor) -> Self:
        """Those that the actor may add to a report: in sight, or sent by the very account."""
        seen = self.visible_to(actor).values("id")
        return self.filter(Q(id__in=seen) | Q(received_by_id=actor.user_id, organisation_id=actor.organisation_id))


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

    objects = PhotoQuerySet.as_manager()

    def __str__(self) -> str:
        return str(self.id)
