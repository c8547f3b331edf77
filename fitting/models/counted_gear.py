"""Gear without a serial: what was handed out by number, and what of it came back or is lost."""

from typing import Self

from django.db import models
from django.db.models import F, Q

from fitting.domain.counted_gear import CONSUMED, MOST, CountedKind
from fitting.models.fits import OfPlayerQuerySet
from fitting.models.players import Player
from gearlife.domain.access import Actor
from gearlife.models import Owned, OwnedQuerySet, one_of, word_field


class CountedGearQuerySet(OfPlayerQuerySet):
    """Lines of counted gear; whoever sees the player sees them."""

    def outstanding(self) -> Self:
        """Those of which the player still has something to give back."""
        taken_back = self.exclude(kind__in=[kind.value for kind in CONSUMED])
        return taken_back.filter(count__gt=F("given_back") + F("lost"))


class CountedGear(Owned):
    """So many pieces of one kind and size, handed to a player at once."""

    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="counted_gear")
    kind = word_field(CountedKind)
    count = models.PositiveSmallIntegerField()
    # As the label has it; sizes of two makers are not comparable.
    size = models.CharField(max_length=24, blank=True, default="")
    condition_at_issue = models.CharField(max_length=200, blank=True, default="")
    given_back = models.PositiveSmallIntegerField(default=0)
    lost = models.PositiveSmallIntegerField(default=0)
    handed_out_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = CountedGearQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", CountedKind, table="counted_gear"),
            models.CheckConstraint(condition=Q(count__gte=1, count__lte=MOST), name="counted_gear_count"),
            models.CheckConstraint(
                condition=Q(count__gte=F("given_back") + F("lost")), name="counted_gear_not_more_back"
            ),
        ]
        indexes = [
            models.Index(fields=["player", "kind"], name="counted_gear_of_player"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-handed_out_at", "id"], name="counted_gear_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)


class CountedReturnQuerySet(OwnedQuerySet):
    """What came back; whoever sees the player sees it."""

    def visible_to(self, actor: Actor) -> Self:
        """Those of players of visible clubs and teams."""
        rows = super().visible_to(actor)
        if actor.sees_every_club:
            return rows
        clubs, teams = actor.club_ids, actor.team_ids
        return rows.filter(Q(counted_gear__player__club_id__in=clubs) | Q(counted_gear__player__team_id__in=teams))


class CountedReturn(Owned):
    """So many pieces of a line came back, in a condition; or will not, for they are lost."""

    counted_gear = models.ForeignKey(CountedGear, on_delete=models.PROTECT, related_name="returns")
    count = models.PositiveSmallIntegerField()
    lost = models.BooleanField(default=False)
    condition = models.CharField(max_length=200, blank=True, default="")
    returned_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = CountedReturnQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(count__gte=1, count__lte=MOST), name="counted_return_count"),
        ]
        indexes = [
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-returned_at", "id"], name="counted_return_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)
