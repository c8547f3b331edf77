"""Who acts: from a bearer token in one slim query, or from a signed-in user."""

from datetime import datetime
from hashlib import sha256
from typing import Any

from django.db.models import F, Q, QuerySet

from gearlife.domain.access import Actor, Grant
from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, Membership, User
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled

COLUMNS = (
    "user_id",
    "user__organisation_id",
    "user__is_device",
    "user__organisation__timezone",
    "user__memberships__role",
    "user__memberships__club_id",
    "user__memberships__team_id",
)


def token_digest(secret: str) -> str:
    """What is kept of a token: the secret has 256 random bits, so a plain hash suffices."""
    return sha256(secret.encode()).hexdigest()


def actor_of_token(secret: str, now: datetime) -> Actor | None:
    """The actor of a token that is neither expired nor revoked, with every role, in one query; else None."""
    return _actor(list(_grants().values(digest=token_digest(secret), now=now)))


def actor_of_user(user: User) -> Actor:
    """The actor that a signed-in user is."""
    memberships: QuerySet[Membership] = Membership.objects.filter(user=user, organisation_id=user.organisation_id)
    grants = tuple(Grant(Role(m.role), m.club_id, m.team_id) for m in memberships)
    return Actor(user.id, user.organisation_id, grants, user.is_device, user.organisation.timezone)


@compiled
def _grants() -> QuerySet[Any, Any]:
    tokens = AccessToken.objects.filter(
        Q(user__memberships__isnull=True) | Q(user__memberships__organisation_id=F("user__organisation_id")),
        digest=given.text("digest"),
        expires_at__gt=given.moment("now"),
        revoked_at__isnull=True,
        user__is_active=True,
    )
    return tokens.values_list(*COLUMNS)


def _actor(rows: list[tuple[Any, ...]]) -> Actor | None:
    if not rows:
        return None
    user_id, organisation_id, is_device, timezone = rows[0][:4]
    grants = tuple(Grant(Role(role), club, team) for *_, role, club, team in rows if role)
    return Actor(user_id, organisation_id, grants, is_device, timezone)
