"""Organisations, their clubs, teams and seasons."""

from typing import Self

from django.db import models
from django.db.models import F, Q

from gearlife.domain.access import Actor
from gearlife.domain.ids import uuid7
from gearlife.models.base import Owned, OwnedQuerySet


class OrganisationQuerySet(models.QuerySet["Organisation"]):
    """Organisations; an actor sees one."""

    def visible_to(self, actor: Actor) -> Self:
        """The actor's own."""
        return self.filter(id=actor.organisation_id)


class Organisation(models.Model):
    """The owner of everything below; no row of one is ever seen by another."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    name = models.CharField(max_length=120)
    timezone = models.CharField(max_length=64, default="UTC")
    version = models.PositiveIntegerField(default=1)

    objects = OrganisationQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name


class ClubQuerySet(OwnedQuerySet):
    """Clubs; officers see their own."""

    def visible_to(self, actor: Actor) -> Self:
        """Every club of the organisation for those who see all, else the officer's and the coach's team's."""
        clubs = super().visible_to(actor)
        if actor.sees_every_club:
            return clubs
        return clubs.filter(Q(id__in=actor.club_ids) | Q(teams__id__in=actor.team_ids)).distinct()

    def reportable_by(self, actor: Actor) -> Self:
        """Clubs of whose gear the actor may report damage."""
        if actor.reports_everywhere or actor.sees_every_club:
            return super().visible_to(actor)
        mine = Q(id__in=actor.club_ids) | Q(id__in=actor.reporting_club_ids)
        return super().visible_to(actor).filter(mine | Q(id__in=Team.objects.of(actor).values("club_id")))


class Club(Owned):
    """A club: the place whose calendar, rooms and officers its gear has."""

    name = models.CharField(max_length=120)
    code = models.CharField(max_length=16)
    timezone = models.CharField(max_length=64, default="UTC")
    # Raised with every change of what its gear's clocks are reckoned from: rules, intervals, its seasons, its calendar.
    policy_revision = models.PositiveIntegerField(default=0)

    objects = ClubQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["organisation", "code"], name="club_code_once")]

    def __str__(self) -> str:
        return self.name


class OfClubQuerySet(OwnedQuerySet):
    """Rows that belong to a club: whoever sees the club sees them."""

    def visible_to(self, actor: Actor) -> Self:
        """Rows of visible clubs."""
        rows = super().visible_to(actor)
        if actor.sees_every_club:
            return rows
        return rows.filter(Q(club_id__in=actor.club_ids) | Q(club__teams__id__in=actor.team_ids)).distinct()


class TeamQuerySet(OwnedQuerySet):
    """Teams; a coach sees the own one."""

    def of(self, actor: Actor) -> Self:
        """A coach's own."""
        return self.filter(id__in=actor.team_ids)

    def visible_to(self, actor: Actor) -> Self:
        """Teams of an officer's clubs, and a coach's own."""
        teams = super().visible_to(actor)
        if actor.sees_every_club:
            return teams
        return teams.filter(Q(club_id__in=actor.club_ids) | Q(id__in=actor.team_ids))


class Team(Owned):
    """A team of a club."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="teams")
    name = models.CharField(max_length=80)
    level = models.CharField(max_length=40, blank=True, default="")

    objects = TeamQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="team_name_once")]

    def __str__(self) -> str:
        return self.name


class Season(Owned):
    """A club's season; `ends_on` is the day of its last game, to which every limit is read.

    `first_contact_on`: before that day everybody wants the gear that protects; null is the first day.
    """

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="seasons")
    year = models.PositiveSmallIntegerField()
    starts_on = models.DateField()
    ends_on = models.DateField()
    first_contact_on = models.DateField(null=True, blank=True)
    off_season_windows = models.JSONField(default=list, blank=True)

    objects = OfClubQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["club", "year"], name="season_year_once"),
            models.CheckConstraint(condition=Q(starts_on__lte=F("ends_on")), name="season_ends_after_start"),
            models.CheckConstraint(
                condition=Q(first_contact_on__isnull=True)
                | Q(first_contact_on__gte=F("starts_on"), first_contact_on__lte=F("ends_on")),
                name="season_first_contact_inside",
            ),
        ]

    def __str__(self) -> str:
        return str(self.year)
