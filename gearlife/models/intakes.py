"""Intakes: each file that was taken in or waits for it, and what it did."""

from typing import Self

from django.db import models
from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import IntakeState
from gearlife.models.base import Owned
from gearlife.models.enums import one_of, word_field
from gearlife.models.organisations import Club, OfClubQuerySet

UNFINISHED = (IntakeState.WAITING.value, IntakeState.RUNNING.value)


class Intake(Owned):
    """The report of one file. A large one has a row from its arrival on; a small one that is refused leaves none."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    of = models.CharField(max_length=24, blank=True)
    checked_only = models.BooleanField(default=False)
    stop_doubtful = models.BooleanField(default=False)
    filename = models.CharField(max_length=200, blank=True, default="")
    sha256 = models.CharField(max_length=64)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    rows = models.PositiveIntegerField(default=0)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    unchanged = models.PositiveIntegerField(default=0)
    stopped = models.PositiveIntegerField(default=0)
    notes = models.JSONField(default=list)
    state = word_field(IntakeState, default=IntakeState.DONE)
    # A worker's claim: until then no other takes the file up, and only the holder of the claim may finish it.
    lease_until = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    # Why a file that had waited was refused, as the synchronous answer would have said it.
    refusal = models.JSONField(null=True)
    # The digest of the outline that somebody looked at before: by now another one, the file is refused.
    expected = models.CharField(max_length=64, blank=True, default="")

    objects = OfClubQuerySet.as_manager()

    class Meta:
        constraints = [one_of("state", IntakeState, table="intake")]
        indexes = [
            # What waits: asked at every wake-up.
            models.Index(fields=["received_at"], condition=Q(state__in=UNFINISHED), name="intake_unfinished"),
        ]

    def __str__(self) -> str:
        return self.filename


class FileInHandQuerySet(OfClubQuerySet):
    """Files in hand: whoever sent one sees it, and nobody else."""

    def visible_to(self, actor: Actor) -> Self:
        """The actor's own."""
        return super().visible_to(actor).filter(received_by_id=actor.user_id)


class FileInHand(Owned):
    """A file that was sent and looked at, and not taken in: it lies on the disk with its outline for a day.

    `intake_id` is the id under which it is taken in, once; `outline` is the digest of what was shown.
    """

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="+")
    of = models.CharField(max_length=24)
    stop_doubtful = models.BooleanField(default=False)
    filename = models.CharField(max_length=200, blank=True, default="")
    sha256 = models.CharField(max_length=64)
    outline = models.CharField(max_length=64)
    intake_id = models.UUIDField(default=uuid7, editable=False)
    received_at = models.DateTimeField(db_index=True)
    received_by = models.ForeignKey("gearlife.User", on_delete=models.CASCADE, null=True, related_name="+")

    objects = FileInHandQuerySet.as_manager()

    def __str__(self) -> str:
        return self.filename
