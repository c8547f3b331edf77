"""Alerts: what the concerns said, delivered; and the sweeps that asked them."""

from typing import Self

from django.db import models
from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Advice, Severity, Stage
from gearlife.models.base import Owned
from gearlife.models.enums import one_of, word_field
from gearlife.models.organisations import Club, OfClubQuerySet, Organisation


class AlertQuerySet(OfClubQuerySet):
    """Alerts; a coach sees those of the team's items."""

    def visible_to(self, actor: Actor) -> Self:
        """Alerts of visible clubs, or of the items of a coach's team."""
        rows = self.filter(organisation_id=actor.organisation_id)
        if actor.sees_every_club:
            return rows
        return rows.filter(Q(club_id__in=actor.club_ids) | Q(item__team_id__in=actor.team_ids))

    def open(self) -> Self:
        """Those whose cause persists."""
        return self.filter(closed_at__isnull=True)


class Alert(Owned):
    """One open alert per concern and subject; it closes by itself when its cause is gone, and in no other way."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=120)
    kind = models.SlugField(max_length=40)
    advice = word_field(Advice)
    severity = word_field(Severity)
    stage = word_field(Stage)
    item = models.ForeignKey("gearlife.Item", on_delete=models.CASCADE, null=True, blank=True, related_name="alerts")
    # A player of the package above, by id alone.
    player_id = models.UUIDField(null=True, blank=True)
    falls_on = models.DateField()
    because = models.TextField()
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    acknowledged_note = models.CharField(max_length=500, blank=True, default="")
    told_whom = models.CharField(max_length=80, blank=True, default="")
    told_at = models.DateTimeField(null=True, blank=True)
    put_off_until = models.DateField(null=True, blank=True)
    put_off_reason = models.CharField(max_length=500, blank=True, default="")
    put_off_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = AlertQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "key"], condition=Q(closed_at__isnull=True), name="alert_open_once_per_key"
            ),
            one_of("advice", Advice, table="alert"),
            one_of("severity", Severity, table="alert"),
            one_of("stage", Stage, table="alert"),
        ]
        indexes = [
            models.Index(fields=["item"], condition=Q(closed_at__isnull=True), name="alert_open_of_item"),
            # Which alerts move on with the day.
            models.Index(
                fields=["organisation", "falls_on"], condition=Q(closed_at__isnull=True), name="alert_open_falling"
            ),
        ]

    def __str__(self) -> str:
        return self.key


class Sweep(models.Model):
    """One run of the sweep over one organisation: complete only when every item was examined without a fault."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="sweeps")
    day = models.DateField()
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    items_expected = models.PositiveIntegerField(default=0)
    items_examined = models.PositiveIntegerField(default=0)
    opened = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    closed = models.PositiveIntegerField(default=0)
    faults = models.JSONField(default=list)
    # Rows that were not examined, by id, name and why; the first ones where they are many.
    skipped = models.JSONField(default=list)
    complete = models.BooleanField(default=False)
    # Whether every item was asked, and not only those that time may have touched since the sweep before.
    whole = models.BooleanField(default=True)
    # What a whole sweep found beyond those: each is a hole in the quick way of asking.
    unforeseen = models.PositiveIntegerField(default=0)

    class Meta:
        indexes = [models.Index(fields=["organisation", "-finished_at"], name="sweep_latest")]

    def __str__(self) -> str:
        return f"{self.day}"
