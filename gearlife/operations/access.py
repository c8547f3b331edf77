"""Users, roles and tokens."""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from gearlife.domain.access import EVERY_CLUB, Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.domain.vocabulary import Role, Units
from gearlife.models import AccessToken, Club, Membership, Organisation, Team, User
from gearlife.operations.ledger import Entry, record
from gearlife.queries.access import token_digest

TOKEN_LIFE = timedelta(days=365)


def add_user(*, organisation: Organisation, username: str, is_device: bool = False, is_operator: bool = False) -> User:
    """Add an account that has no password yet; ConflictError when the name is taken."""
    user = User(organisation=organisation, username=username, is_device=is_device, is_operator=is_operator)
    user.set_unusable_password()
    try:
        with transaction.atomic():
            user.save(force_insert=True)
    except IntegrityError as error:
        raise _conflict("/username", f"The user name {username} is taken.", "name_taken") from error
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


@dataclass(frozen=True)
class NewRole:
    """A role for the account of a name; the account is made where the organisation has none of that name."""

    username: str
    role: Role
    club: Club | None = None
    team: Team | None = None
    is_device: bool | None = None
    email: str | None = None
    id: UUID | None = None


@transaction.atomic
def give_role(*, new: NewRole, stamp: Stamp) -> Membership:
    """Give a role; ConflictError when the name is taken elsewhere, is the other sort of account, or has the role."""
    _refuse_places(new)
    user = _account(new, stamp)
    club = new.club or (new.team.club if new.team else None)
    same = Membership.objects.filter(user=user, role=new.role.value, club=club, team=new.team)
    if same.exists():
        raise ConflictError(f"{new.username} has this role already.", code="role_held")
    if new.email is not None:
        change_address(user=user, email=new.email)
    given = grant(user=user, role=new.role, club=club, team=new.team, id=new.id)
    record(user.organisation_id, [Entry("role_given", facts=_told(given))], stamp)
    return given


@transaction.atomic
def change_address(*, user: User, email: str) -> None:
    """Enter where the account gets its mails, empty for nowhere; every role of it shows it, so each has a new ETag."""
    User.objects.filter(id=user.id).update(email=email)
    Membership.objects.filter(user=user).bump()


def prefer_units(*, user: User, units: Units) -> None:
    """In what the person wants lengths to be shown from now on."""
    User.objects.filter(id=user.id).update(units=units.value)


@transaction.atomic
def take_role(*, membership: Membership, stamp: Stamp) -> None:
    """Take a role away; the last administrator's stays, or nobody could give roles any more."""
    lock_administrators(stamp)
    if membership.role == Role.ADMINISTRATOR:
        refuse_last_administrator(administrators(stamp).exclude(id=membership.id))
    told = _told(membership)
    membership.delete()
    record(stamp.actor.organisation_id, [Entry("role_taken", facts=told)], stamp)


def lock_administrators(stamp: Stamp) -> None:
    """Before it is asked who is left: two who take away the last two at once would both see the other one."""
    Organisation.objects.select_for_update(no_key=True).get(id=stamp.actor.organisation_id)


def administrators(stamp: Stamp) -> QuerySet[Membership]:
    """The administrators' roles that somebody can use: a device gives no roles, and a closed account does nothing."""
    people = Membership.objects.filter(user__is_active=True, user__is_device=False)
    return people.filter(organisation_id=stamp.actor.organisation_id, role=Role.ADMINISTRATOR.value)


def refuse_last_administrator(left: QuerySet[Membership]) -> None:
    """ConflictError where nobody would be left who can give roles."""
    if not left.exists():
        raise ConflictError(
            "This is the last administrator: give the role to somebody else first.", code="last_administrator"
        )


def _told(membership: Membership) -> dict[str, object]:
    names = ("user_id", "role", "club_id", "team_id")
    return {name.removesuffix("_id"): getattr(membership, name) for name in names}


def _refuse_places(new: NewRole) -> None:
    """An organisation's roles name no place, an officer's no team, and a team is one of its club's."""
    faults = []
    if new.role in EVERY_CLUB and new.club:
        faults.append(Fault("This role is held in the whole organisation: name no club.", "/club"))
    if new.role in {*EVERY_CLUB, Role.OFFICER} and new.team:
        faults.append(Fault("This role is not held in one team: name no team.", "/team"))
    if new.club and new.team and new.team.club_id != new.club.id:
        faults.append(Fault("The team is not one of this club's.", "/team"))
    if faults:
        raise InvalidInputError("the role does not fit its place", faults=faults)


def _account(new: NewRole, stamp: Stamp) -> User:
    organisation = Organisation.objects.get(id=stamp.actor.organisation_id)
    user = User.objects.filter(organisation=organisation, username=new.username).first()
    if user is None:
        return add_user(organisation=organisation, username=new.username, is_device=bool(new.is_device))
    if user.is_operator or (new.is_device is not None and new.is_device != user.is_device):
        raise _conflict("/is_device", "This account is there already, and is of the other sort.", "account_differs")
    return user


def _conflict(pointer: str, detail: str, code: str) -> ConflictError:
    return ConflictError(detail, code=code, faults=[Fault(detail, pointer, code)])


def issue_token(*, user: User, label: str, at: datetime, life: timedelta = TOKEN_LIFE) -> str:
    """Make a bearer token and give its secret, this once; only its digest is kept."""
    secret = secrets.token_urlsafe(32)
    AccessToken.objects.create(user=user, digest=token_digest(secret), label=label, created_at=at, expires_at=at + life)
    return secret


def revoke_tokens(*, user: User, label: str, at: datetime) -> int:
    """Revoke the tokens of one label; how many there were."""
    return AccessToken.objects.filter(user=user, label=label, revoked_at__isnull=True).update(revoked_at=at)
