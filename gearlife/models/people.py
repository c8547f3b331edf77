"""Those who sign in: people, devices and programs; their roles; their bearer tokens."""

from typing import ClassVar, Self

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role, Units
from gearlife.models.base import Owned, OwnedQuerySet
from gearlife.models.enums import one_of, word_field
from gearlife.models.organisations import Club, Organisation, Team


class UserQuerySet(models.QuerySet["User"]):
    """Accounts; administrators and auditors see all of their organisation's, everybody the own one."""

    def visible_to(self, actor: Actor) -> Self:
        """All of the organisation's, or the actor's own."""
        rows = self.filter(organisation_id=actor.organisation_id, is_operator=False)
        return rows if actor.sees_every_club else rows.filter(id=actor.user_id)


class User(AbstractBaseUser):
    """A person's, device's or program's account in one organisation. A device may hold and never release."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    username = models.CharField(max_length=80, unique=True)
    email = models.EmailField(max_length=254, blank=True, default="")
    is_device = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)
    # Whoever runs the machine: reads every organisation's records in the operators' pages, and holds no role.
    is_operator = models.BooleanField(default=False)
    units = word_field(Units, default=Units.INCHES)

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects = BaseUserManager.from_queryset(UserQuerySet)()

    class Meta:
        constraints = [one_of("units", Units, table="user")]

    def __str__(self) -> str:
        return self.username


class MembershipQuerySet(OwnedQuerySet):
    """Roles of people; administrators and auditors see all, everybody their own."""

    def visible_to(self, actor: Actor) -> Self:
        """All of the organisation's, or the actor's own."""
        rows = super().visible_to(actor)
        return rows if actor.sees_every_club else rows.filter(user_id=actor.user_id)


class Membership(Owned):
    """One role of one user: an officer's of a club, a coach's of a team."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    role = word_field(Role)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("role", Role, table="membership"),
            models.CheckConstraint(
                condition=~Q(role=Role.OFFICER.value) | Q(club__isnull=False), name="membership_officer_has_club"
            ),
            models.CheckConstraint(
                condition=~Q(role=Role.COACH.value) | Q(team__isnull=False), name="membership_coach_has_team"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} as {self.role}"


class AccessTokenQuerySet(models.QuerySet["AccessToken"]):
    """Bearer tokens; administrators and auditors see those of every account, everybody the own ones."""

    def visible_to(self, actor: Actor) -> Self:
        """All of the organisation's, or the actor's own."""
        rows = self.filter(user__organisation_id=actor.organisation_id)
        return rows if actor.sees_every_club else rows.filter(user_id=actor.user_id)


class AccessToken(models.Model):
    """A bearer token: only the SHA-256 of its secret is kept; it expires and can be revoked."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="tokens")
    digest = models.CharField(max_length=64, unique=True)
    label = models.CharField(max_length=80, blank=True, default="")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = AccessTokenQuerySet.as_manager()

    def __str__(self) -> str:
        return self.label
