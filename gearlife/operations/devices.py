"""Accounts of devices and programs: one role, one token. A device inspects and holds, and never releases."""

from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from gearlife.domain.access import EVERY_CLUB, Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, Club, Team, User
from gearlife.operations.access import add_user, grant, issue_token
from gearlife.operations.ledger import Entry, record

LONGEST_LABEL = 80


@dataclass(frozen=True)
class NewDevice:
    """A device or program of a club: what it is called and which role it has; a coach's names the team."""

    club: Club
    role: Role
    label: str = ""
    team: Team | None = None


@dataclass(frozen=True)
class DeviceToken:
    """The account that was made, and the secret of its token: told this once, only its digest is kept."""

    user: User
    secret: str


@transaction.atomic
def add_device(*, new: NewDevice, stamp: Stamp) -> DeviceToken:
    """Make an account for a device or program, give it its role, and make its token, valid for a year.

    Raises:
        InvalidInputError: A coach's role without the team, or a team of another club.
        NotPermittedError: A device asks, or somebody of another organisation.
    """
    _refuse_foreign(new.club.organisation_id, stamp)
    if new.team and new.team.club_id != new.club.id:
        raise InvalidInputError.at("/team", "The team is not one of this club's.")
    if new.team and new.role is Role.OFFICER:
        raise InvalidInputError.at("/team", "This role is not held in one team: name no team.")
    user = add_user(organisation=new.club.organisation, username=_name(new), is_device=True)
    whole = new.role in EVERY_CLUB
    grant(user=user, role=new.role, club=None if whole else new.club, team=None if whole else new.team)
    return DeviceToken(user, new_token(user=user, label=new.label, stamp=stamp))


@transaction.atomic
def new_token(*, user: User, label: str, stamp: Stamp) -> str:
    """Make one more token of an account and tell its secret this once."""
    _refuse_foreign(user.organisation_id, stamp)
    secret = issue_token(user=user, label=label[:LONGEST_LABEL], at=stamp.at)
    record(user.organisation_id, [Entry("token_made", facts={"user": user.id})], stamp)
    return secret


@transaction.atomic
def revoke_token(*, token_id: UUID, stamp: Stamp) -> None:
    """Let a token count no more, from this moment on; ConflictError where it has been revoked already."""
    token = AccessToken.objects.select_for_update(of=("self",)).select_related("user").get(id=token_id)
    _refuse_foreign(token.user.organisation_id, stamp)
    if token.revoked_at:
        raise ConflictError("This token is revoked already.", code="revoked")
    token.revoked_at = stamp.at
    token.save(update_fields=["revoked_at"])
    record(
        token.user.organisation_id, [Entry("token_revoked", facts={"user": token.user_id, "token": token.id})], stamp
    )


def _name(new: NewDevice) -> str:
    return f"device-{new.club.code.lower()}-{new.role.value}-{uuid7().hex[-12:]}"


def _refuse_foreign(organisation_id: UUID, stamp: Stamp) -> None:
    # A device that could make tokens could release by another's hand.
    if organisation_id != stamp.actor.organisation_id or stamp.actor.is_device:
        raise NotPermittedError("Tokens of this account are not yours to make or revoke.", code="account_differs")
