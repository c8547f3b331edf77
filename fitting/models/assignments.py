"""Assignments: which player has which item, from when to when, in what condition."""

from typing import Self

from django.db import models
from django.db.models import F, Q

from fitting.domain.vocabulary import RecordedAs
from fitting.models.players import Player
from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item, Owned, OwnedQuerySet, one_of, word_field


class AssignmentQuerySet(OwnedQuerySet):
    """Assignments; whoever sees the player sees them."""

    def visible_to(self, actor: Actor) -> Self:
        """Assignments of players of visible clubs and teams."""
        rows = super().visible_to(actor)
        if actor.sees_every_club:
            return rows
        return rows.filter(Q(player__club_id__in=actor.club_ids) | Q(player__team_id__in=actor.team_ids))

    def open(self) -> Self:
        """Those not ended."""
        return self.filter(returned_at__isnull=True)


class Assignment(Owned):
    """A player has an item. `could_not_be_issued` marks a fact recorded past the gate: worn, and a stop at once."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="assignments")
    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="assignments")
    kind = word_field(Kind)
    loan = models.BooleanField(default=False)
    recorded_as = word_field(RecordedAs, default=RecordedAs.ISSUED)
    issued_at = models.DateTimeField()
    returned_at = models.DateTimeField(null=True, blank=True)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    condition_at_issue = models.CharField(max_length=200, blank=True, default="")
    condition_at_return = models.CharField(max_length=200, blank=True, default="")
    # Codes of parts that it came back without.
    missing_parts = models.JSONField(default=list, blank=True)
    could_not_be_issued = models.BooleanField(default=False)
    reasons_against = models.JSONField(default=list, blank=True)
    # What was said of this pair and let it go all the same: handed out without a fit, say.
    warnings = models.JSONField(default=list, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = AssignmentQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="assignment"),
            one_of("recorded_as", RecordedAs, table="assignment"),
            models.UniqueConstraint(
                fields=["item"], condition=Q(returned_at__isnull=True), name="assignment_open_per_item"
            ),
            models.UniqueConstraint(
                fields=["player", "kind", "loan"],
                condition=Q(returned_at__isnull=True),
                name="assignment_open_per_player",
            ),
            models.CheckConstraint(
                condition=Q(returned_at__isnull=True) | Q(returned_at__gte=F("issued_at")),
                name="assignment_ends_after_start",
            ),
        ]
        indexes = [
            models.Index(fields=["player", "issued_at"], name="assignment_of_player"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-issued_at", "id"], name="assignment_listed"),
            # Loans that are out: asked at every wake-up.
            models.Index(
                fields=["issued_at"], condition=Q(returned_at__isnull=True, loan=True), name="assignment_loan_out"
            ),
        ]

    def __str__(self) -> str:
        return str(self.id)
