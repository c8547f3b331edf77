"""The outbox: every message is a row, written in the transaction of what it tells of and delivered afterwards."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Q

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models.enums import one_of, word_field
from gearlife.models.organisations import Organisation


class OutboxQuerySet(models.QuerySet["OutboxMessage"]):
    """Messages. A lease that has run out is no lease: whoever had it died."""

    def waiting(self) -> Self:
        """Neither delivered nor given up."""
        return self.filter(done_at__isnull=True, dead_at__isnull=True)

    def due(self, at: datetime) -> Self:
        """Waiting, with their time come, and in nobody's hands."""
        return self.waiting().filter(Q(lease_until__isnull=True) | Q(lease_until__lte=at), not_before__lte=at)

    def undelivered(self, at: datetime) -> Self:
        """Waiting longer than they should: tried in vain, or with their time come."""
        return self.waiting().filter(Q(attempts__gt=0) | Q(not_before__lte=at))

    def untouched(self) -> Self:
        """Waiting, and nobody has ever begun to deliver them: they may still be added to."""
        return self.waiting().filter(attempts=0, lease_until__isnull=True)


class OutboxMessage(models.Model):
    """One message to one person. It holds ids alone: its text is written when it is sent, and nobody's name is kept.

    `cause` is the row that many messages about the same thing hang on. `level` is how far up it goes: 0 whoever is
    responsible, 1 those who are told when nobody takes notice.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    kind = models.SlugField(max_length=40)
    recipient = models.ForeignKey("gearlife.User", on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    cause = models.ForeignKey("self", on_delete=models.CASCADE, null=True, blank=True, related_name="messages")
    level = models.PositiveSmallIntegerField(default=0)
    payload = models.JSONField(default=dict)
    # One for each cause, person and level: told twice, it is written once.
    dedupe_key = models.CharField(max_length=200, unique=True)
    created_at = models.DateTimeField()
    not_before = models.DateTimeField()
    attempts = models.PositiveIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    outcome = word_field(MessageOutcome, blank=True)
    dead_at = models.DateTimeField(null=True, blank=True)
    last_error = models.CharField(max_length=500, blank=True, default="")

    objects = OutboxQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("outcome", MessageOutcome, table="outbox", blank=True),
            models.CheckConstraint(condition=Q(done_at__isnull=True) | ~Q(outcome=""), name="outbox_done_says_how"),
            models.CheckConstraint(condition=Q(done_at__isnull=True) | Q(dead_at__isnull=True), name="outbox_one_end"),
        ]
        # What a drain asks for every time; what was delivered long ago costs it nothing.
        indexes = [
            models.Index(
                fields=["not_before", "id"],
                condition=Q(done_at__isnull=True, dead_at__isnull=True),
                name="outbox_waiting",
            )
        ]

    def __str__(self) -> str:
        return self.dedupe_key
