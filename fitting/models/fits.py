"""Fits: how an item sat on a player, check by check; and what was reported of a player since."""

from typing import Self

from django.db import models
from django.db.models import Q

from fitting.domain.vocabulary import BodyChange
from fitting.models.measurements import Measurement
from fitting.models.players import Player
from gearlife.domain.access import Actor
from gearlife.models import Item, Owned, OwnedQuerySet, one_of, word_field


class OfPlayerQuerySet(OwnedQuerySet):
    """Rows about one player each; whoever sees the player sees them."""

    def visible_to(self, actor: Actor) -> Self:
        """Those of players of visible clubs and teams."""
        rows = super().visible_to(actor)
        if actor.sees_every_club:
            return rows
        return rows.filter(Q(player__club_id__in=actor.club_ids) | Q(player__team_id__in=actor.team_ids))


class Fit(Owned):
    """An item was fitted on a player. Never changed: a refit is another one.

    `tries` is a list, in order, of `{"results": {check: passed}, "remedies": [{"check", "remedy"}]}`.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="fits")
    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="fits")
    accepted = models.BooleanField()
    tries = models.JSONField()
    # The item's size as its label said then.
    size = models.CharField(max_length=24, blank=True, default="")
    pads_and_air = models.CharField(max_length=300, blank=True, default="")
    hairstyle = models.CharField(max_length=80, blank=True, default="")
    measurement = models.ForeignKey(Measurement, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    fitted_at = models.DateTimeField()
    fitted_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = OfPlayerQuerySet.as_manager()

    class Meta:
        indexes = [
            # The gate's question: how did this item last sit, and on whom.
            models.Index(fields=["item", "player", "-fitted_at"], name="fit_of_pair"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-fitted_at", "id"], name="fit_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)


class PlayerChange(Owned):
    """Somebody reported a haircut, or a change of weight, on a day."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="changes")
    kind = word_field(BodyChange)
    happened_on = models.DateField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = OfPlayerQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", BodyChange, table="player_change"),
            models.UniqueConstraint(fields=["player", "kind", "happened_on"], name="player_change_once_a_day"),
        ]

    def __str__(self) -> str:
        return str(self.id)
