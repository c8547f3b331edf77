"""Plans of who gets what, each player's line of them, and the gear that was set aside by them."""

from typing import Self

from django.db import models
from django.db.models import Q

from fitting.domain.sizing import Likelihood
from fitting.domain.vocabulary import LineState, PlanOutcome, PlanState, SetAsideEnds
from fitting.models.fits import OfPlayerQuerySet
from fitting.models.players import Player
from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, Item, Owned, OwnedQuerySet, Season, Team, one_of, word_field

# What a worker is to do.
UNFINISHED = (PlanState.WAITING.value, PlanState.APPLYING.value)


class AllocationPlanQuerySet(OwnedQuerySet):
    """Plans; of one that reaches further than an actor sees, the lines say which part that is."""

    def visible_to(self, actor: Actor) -> Self:
        """Plans of visible clubs and teams, and those of the whole organisation."""
        plans = super().visible_to(actor)
        if actor.sees_every_club:
            return plans
        clubs_of_teams = Team.objects.filter(id__in=actor.team_ids).values("club_id")
        own = Q(club_id__in=actor.club_ids) | Q(team_id__in=actor.team_ids)
        return plans.filter(Q(club__isnull=True) | own | Q(team__isnull=True, club_id__in=clubs_of_teams))


class AllocationPlan(Owned):
    """A plan for a team, a club (no team), or the whole organisation (no club), as it was made; it never changes.

    `season` is null for the whole organisation: each club's own. `short` and `notes` are what the domain told.
    """

    club = models.ForeignKey(Club, on_delete=models.PROTECT, null=True, related_name="+")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, null=True, related_name="+")
    season = models.ForeignKey(Season, on_delete=models.SET_NULL, null=True, related_name="+")
    kind = word_field(Kind, blank=True)
    weights = models.JSONField(default=dict)
    state = word_field(PlanState, default=PlanState.WAITING)
    asked_on = models.DateField()
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField(null=True)
    applied_at = models.DateTimeField(null=True)
    applied_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    planned = models.PositiveIntegerField(default=0)
    without = models.PositiveIntegerField(default=0)
    cost = models.BigIntegerField(default=0)
    short = models.JSONField(default=list)
    notes = models.JSONField(default=list)
    failed_because = models.CharField(max_length=500, blank=True, default="")
    # A worker's claim: until then no other takes the plan up, and only the holder of the claim may finish it.
    lease_until = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)

    objects = AllocationPlanQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="plan", blank=True),
            one_of("state", PlanState, table="plan"),
            models.CheckConstraint(condition=Q(team__isnull=True) | Q(club__isnull=False), name="plan_team_has_club"),
        ]
        indexes = [
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-asked_at", "id"], name="plan_listed"),
            # What waits: asked at every wake-up.
            models.Index(fields=["asked_at"], condition=Q(state__in=UNFINISHED), name="plan_unfinished"),
        ]

    def __str__(self) -> str:
        return str(self.id)


class PlanLine(Owned):
    """What a plan says of one player and kind; with an item, `state` tells what became of it when it was applied."""

    plan = models.ForeignKey(AllocationPlan, on_delete=models.CASCADE, related_name="lines")
    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="+")
    kind = word_field(Kind)
    outcome = word_field(PlanOutcome)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, related_name="+")
    size = models.CharField(max_length=24, blank=True, default="")
    likelihood = word_field(Likelihood, blank=True)
    because = models.TextField(blank=True, default="")
    state = word_field(LineState, default=LineState.OPEN)
    state_because = models.TextField(blank=True, default="")

    objects = OfPlayerQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="plan_line"),
            one_of("outcome", PlanOutcome, table="plan_line"),
            one_of("likelihood", Likelihood, table="plan_line", blank=True),
            one_of("state", LineState, table="plan_line"),
            models.UniqueConstraint(fields=["plan", "player", "kind"], name="plan_line_once"),
            models.CheckConstraint(
                condition=Q(outcome=PlanOutcome.PLANNED.value, item__isnull=False)
                | (~Q(outcome=PlanOutcome.PLANNED.value) & Q(item__isnull=True)),
                name="plan_line_has_its_item",
            ),
        ]

    def __str__(self) -> str:
        return str(self.id)


class SetAsideQuerySet(OfPlayerQuerySet):
    """Gear set aside for players."""

    def open(self) -> Self:
        """Those not ended."""
        return self.filter(ended_at__isnull=True)


class SetAside(Owned):
    """An item is kept for one player until it is handed out. It bars nothing: whoever hands it to another is told."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="set_asides")
    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="set_asides")
    plan = models.ForeignKey(AllocationPlan, on_delete=models.PROTECT, null=True, related_name="set_asides")
    kind = word_field(Kind)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = word_field(SetAsideEnds, blank=True)

    objects = SetAsideQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="set_aside"),
            one_of("ended_by", SetAsideEnds, table="set_aside", blank=True),
            models.UniqueConstraint(
                fields=["item"], condition=Q(ended_at__isnull=True), name="set_aside_open_per_item"
            ),
            models.UniqueConstraint(
                fields=["player", "kind"], condition=Q(ended_at__isnull=True), name="set_aside_open_per_player"
            ),
        ]
        indexes = [models.Index(fields=["organisation", "-made_at", "id"], name="set_aside_listed")]

    def __str__(self) -> str:
        return str(self.id)
