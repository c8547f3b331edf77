"""Measurements of players, who read them, and who may: officers of the club and administrators."""

from typing import Self

from django.db import models

from fitting.domain.vocabulary import MeasurementKind, Protocol, Tape
from fitting.models.players import Player
from gearlife.domain.access import Actor
from gearlife.models import Owned, OwnedQuerySet, one_of, word_field


class MeasurementQuerySet(OwnedQuerySet):
    """Measurements, or who read them: an auditor and a coach see none."""

    def visible_to(self, actor: Actor) -> Self:
        """Those of players of the clubs whose officer the actor is; an administrator's are all."""
        rows = super().visible_to(actor)
        return rows if actor.administers else rows.filter(player__club_id__in=actor.club_ids)


class Measurement(Owned):
    """One measurement of one player: every reading in millimetres, to a tenth, and where the tape lay.

    Protocol and tape are empty where nobody told (a file of players does not). `measured_by` held the tape.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="measurements")
    kind = word_field(MeasurementKind)
    protocol = word_field(Protocol, blank=True)
    tape = word_field(Tape, blank=True)
    readings_mm = models.JSONField(default=list)
    taken_on = models.DateField()
    measured_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    recorded_at = models.DateTimeField()

    objects = MeasurementQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", MeasurementKind, table="measurement"),
            one_of("protocol", Protocol, table="measurement", blank=True),
            one_of("tape", Tape, table="measurement", blank=True),
        ]
        indexes = [models.Index(fields=["player", "kind", "taken_on"], name="measurement_of_player")]

    def __str__(self) -> str:
        return str(self.id)


class MeasurementRead(Owned):
    """Somebody was shown measurements of a player: who, when, and on which page or by which question."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="+")
    read_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    read_at = models.DateTimeField()
    why = models.CharField(max_length=60)

    objects = MeasurementQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["player", "read_at"], name="measurement_read_of_player")]

    def __str__(self) -> str:
        return str(self.id)
