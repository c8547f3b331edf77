"""Users, roles and tokens."""

import secrets
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction

from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, Club, Membership, Organisation, Team, User
from gearlife.queries.access import token_digest

TOKEN_LIFE = timedelta(days=365)


def add_user(*, organisation: Organisation, username: str, is_device: bool = False) -> User:
    """Add an account that has no password yet; ConflictError when the name is taken."""
    user = User(organisation=organisation, username=username, is_device=is_device)
    user.set_unusable_password()
    try:
        with transaction.atomic():
            user.save(force_insert=True)
    except IntegrityError as error:
        raise ConflictError(f"The user name {username} is taken.", code="name_taken") from error
    return user


def grant(
    *,
    user: User,
    role: Role,
    club: Club | None = None,
    team: Team | None = None,
    id: UUID | None = None,  # noqa: A002 - the contract's word
) -> Membership:
    """Give a role: an officer's names a club, a coach's a team."""
    if role is Role.OFFICER and club is None:
        raise InvalidInputError.at("/club", "An officer's role names the club.")
    if role is Role.COACH and team is None:
        raise InvalidInputError.at("/team", "A coach's role names the team.")
    membership = Membership(organisation_id=user.organisation_id, user=user, role=role.value, club=club, team=team)
    membership.id = id or membership.id
    membership.save(force_insert=True)
    return membership


def issue_token(*, user: User, label: str, at: datetime, life: timedelta = TOKEN_LIFE) -> str:
    """Make a bearer token and give its secret, this once; only its digest is kept."""
    secret = secrets.token_urlsafe(32)
    AccessToken.objects.create(
        user=user, digest=token_digest(secret), label=label, created_at=at, expires_at=at + life
    )
    return secret


def revoke_tokens(*, user: User, label: str, at: datetime) -> int:
    """Revoke the tokens of one label; how many there were."""
    return AccessToken.objects.filter(user=user, label=label, revoked_at__isnull=True).update(revoked_at=at)
