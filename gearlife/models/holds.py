"""Holds: rows that a recorded fact opened and that only an explicit act ends."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Advice, HoldCause, HoldEndsBy, ReleaseBasis
from gearlife.models.base import Owned, OwnedQuerySet
from gearlife.models.enums import one_of, word_field
from gearlife.models.proposals import Proposed


class OfItemQuerySet(OwnedQuerySet):
    """Rows about an item: whoever sees the item sees them."""

    def visible_to(self, actor: Actor) -> Self:
        """Rows of items of the actor's clubs or teams."""
        rows = super().visible_to(actor)
        if actor.sees_every_club:
            return rows
        return rows.filter(Q(item__club_id__in=actor.club_ids) | Q(item__team_id__in=actor.team_ids))


class HoldQuerySet(OfItemQuerySet):
    """Holds as of a day."""

    def open(self) -> Self:
        """Not ended, whether or not begun."""
        return self.filter(released_at__isnull=True)

    def in_force(self, day: date) -> Self:
        """Begun and not ended."""
        return self.open().filter(starts_on__lte=day)


class Hold(Owned, Proposed):
    """Keeps an item out of use from `starts_on` until an act that names it; a suspected crack follows its own rule."""

    item = models.ForeignKey("gearlife.Item", on_delete=models.PROTECT, related_name="holds")
    cause = word_field(HoldCause)
    reason = models.CharField(max_length=500)
    reference = models.CharField(max_length=80, blank=True, default="")
    # The finding, report or notice that opened it; the same fact twice opens one hold.
    origin_id = models.UUIDField(null=True, blank=True)
    advice = word_field(Advice, default=Advice.INSPECT)
    starts_on = models.DateField()
    # A repair that may wait until `starts_on`; every other hold begins with the fact that opened it.
    deferred = models.BooleanField(default=False)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    ends_by = word_field(HoldEndsBy, default=HoldEndsBy.OFFICER)
    named_person = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    told_whom = models.CharField(max_length=80, blank=True, default="")
    told_at = models.DateTimeField(null=True, blank=True)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    release_reason = models.CharField(max_length=500, blank=True, default="")
    release_basis = word_field(ReleaseBasis, blank=True)

    objects = HoldQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("cause", HoldCause, table="hold"),
            one_of("ends_by", HoldEndsBy, table="hold"),
            one_of("advice", Advice, table="hold"),
            models.UniqueConstraint(
                fields=["item", "origin_id"], condition=Q(origin_id__isnull=False), name="hold_once_per_origin"
            ),
            models.CheckConstraint(
                condition=Q(released_at__isnull=True) | ~Q(release_basis=""), name="hold_release_says_why"
            ),
        ]
        indexes = [
            # Which items are held: asked by every gate, list and sweep.
            models.Index(fields=["item", "starts_on"], condition=Q(released_at__isnull=True), name="hold_open"),
            # Which holds begin: asked by the sweep.
            models.Index(
                fields=["organisation", "starts_on"], condition=Q(released_at__isnull=True), name="hold_beginning"
            ),
        ]

    def __str__(self) -> str:
        return self.reason
