"""Receipts: what a player was shown of what they have, and who acknowledged it."""

from django.db import models
from django.db.models import Q

from fitting.domain.receipts import LONGEST_NAME, SignedAs
from fitting.models.fits import OfPlayerQuerySet
from fitting.models.players import Player
from gearlife.models import Owned, one_of, word_field


class Receipt(Owned):
    """What a player had on a day, as it was shown. Acknowledged, it never changes; until then another replaces it.

    `shown` holds no name: those stand in columns of their own, so that they can be taken out and the seal still stands.
    """

    player = models.ForeignKey(Player, on_delete=models.PROTECT, related_name="receipts")
    shown = models.JSONField()
    digest = models.CharField(max_length=64)
    player_name = models.CharField(max_length=LONGEST_NAME + 10, blank=True, default="")
    salt = models.CharField(max_length=64, blank=True, default="")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    replaced_at = models.DateTimeField(null=True, blank=True)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_name = models.CharField(max_length=LONGEST_NAME, blank=True, default="")
    acknowledged_as = word_field(SignedAs, blank=True)
    # The account that was signed in on the device on which the name was typed.
    acknowledged_with = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    names_hash = models.CharField(max_length=64, blank=True, default="")
    seal = models.CharField(max_length=64, blank=True, default="")

    objects = OfPlayerQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("acknowledged_as", SignedAs, table="receipt", blank=True),
            models.CheckConstraint(
                condition=Q(acknowledged_at__isnull=True, seal="", acknowledged_as="")
                | (Q(acknowledged_at__isnull=False, replaced_at__isnull=True) & ~Q(seal="") & ~Q(acknowledged_as="")),
                name="receipt_sealed_once",
            ),
            # Of one player at most one waits for its acknowledgement.
            models.UniqueConstraint(
                fields=["player"],
                condition=Q(acknowledged_at__isnull=True, replaced_at__isnull=True),
                name="receipt_open_per_player",
            ),
        ]
        indexes = [
            models.Index(fields=["player", "-made_at"], name="receipt_of_player"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-made_at", "id"], name="receipt_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)
