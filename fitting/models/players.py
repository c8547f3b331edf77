"""Players: the fewest facts that fitting needs."""

from typing import Self

from django.db import models
from django.db.models import Q

from fitting.domain.players import label
from gearlife.domain.access import Actor
from gearlife.models import Club, Owned, OwnedQuerySet, Team


class PlayerQuerySet(OwnedQuerySet):
    """Players; officers see their clubs', a coach the own team's."""

    def visible_to(self, actor: Actor) -> Self:
        """Players of visible clubs and teams."""
        players = super().visible_to(actor)
        if actor.sees_every_club:
            return players
        return players.filter(Q(club_id__in=actor.club_ids) | Q(team_id__in=actor.team_ids))

    def present(self) -> Self:
        """Those who were not removed."""
        return self.filter(removed_at__isnull=True)


class Player(Owned):
    """A player, known within a club by name and birth year."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="players")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, null=True, blank=True, related_name="players")
    given_name = models.CharField(max_length=60)
    family_name = models.CharField(max_length=60)
    # The normal form of both names: how a row of a file finds its player.
    name_key = models.CharField(max_length=130)
    jersey_number = models.PositiveSmallIntegerField(null=True, blank=True)
    birth_year = models.PositiveSmallIntegerField(null=True, blank=True)
    position = models.CharField(max_length=24, blank=True, default="")
    # Given and family names of before: texts of that time have them, and lose them with the person.
    former_names = models.JSONField(default=list)
    # The person was removed then: a label stands in the place of the name, and stays.
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = PlayerQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["club", "name_key"], name="player_by_name"),
            # The list, in the order of its pages.
            models.Index(fields=["organisation", "family_name", "given_name", "id"], name="player_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)

    @property
    def label(self) -> str:
        """What people call them: the number on the jersey, or the given name, and the family name."""
        return label(self.given_name, self.family_name, self.jersey_number)
