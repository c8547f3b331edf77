"""Closing accounts, and the tokens of devices: who may, and what the ledger has of it."""

import json

import pytest

from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, Club, CodeToSignIn, LedgerEvent, SignInSession, User
from gearlife.operations import access, accounts, devices
from gearlife.queries.access import actor_of_token, actor_of_user
from tests.factories import AT, ClubFactory, TeamFactory, person, stamp

pytestmark = pytest.mark.django_db


@pytest.fixture
def club() -> Club:
    return ClubFactory.create()


@pytest.fixture
def boss(club: Club) -> User:
    return person(Role.ADMINISTRATOR, at=club.organisation)


def told(action: str) -> list[dict[str, object]]:
    return [json.loads(event.text)["facts"] for event in LedgerEvent.objects.filter(action=action).order_by("seq")]


def test_a_disabled_account_loses_its_sessions_and_its_mails_of_roles_stay(club: Club, boss: User) -> None:
    user = person(Role.OFFICER, at=club)
    SignInSession.objects.create(session_key="a", session_data="", expire_date=AT, user=user)
    accounts.disable_account(user=user, stamp=stamp(actor_of_user(boss)))
    assert not SignInSession.objects.filter(user=user).exists()
    assert user.memberships.count() == 1
    assert told("account_disabled") == [{"user": str(user.id)}]


def test_a_code_that_lets_a_browser_in_goes_with_the_account(club: Club, boss: User) -> None:
    user = person(Role.OFFICER, at=club)
    CodeToSignIn.objects.create(user=user, digest="0" * 64, expires_at=AT)
    accounts.disable_account(user=user, stamp=stamp(actor_of_user(boss)))
    assert not CodeToSignIn.objects.filter(user=user).exists()


def test_the_last_administrator_whom_somebody_can_be_is_not_disabled(club: Club, boss: User) -> None:
    by = stamp(actor_of_user(boss))
    second = person(Role.ADMINISTRATOR, at=club.organisation)
    person(Role.ADMINISTRATOR, at=club.organisation, is_device=True)
    accounts.disable_account(user=second, stamp=by)
    with pytest.raises(ConflictError, match="last administrator"):
        accounts.disable_account(user=boss, stamp=by)
    accounts.enable_account(user=second, stamp=by)
    accounts.disable_account(user=boss, stamp=by)


def test_nobody_elsewhere_and_no_device_disables(club: Club, boss: User) -> None:
    foreign = person(Role.ADMINISTRATOR, at=ClubFactory.create().organisation)
    machine = person(Role.ADMINISTRATOR, at=club.organisation, is_device=True)
    for other in (foreign, machine):
        with pytest.raises(NotPermittedError):
            accounts.disable_account(user=boss, stamp=stamp(actor_of_user(other)))
        with pytest.raises(NotPermittedError):
            accounts.enable_account(user=boss, stamp=stamp(actor_of_user(other)))


def test_roles_given_and_taken_are_in_the_ledger(club: Club, boss: User) -> None:
    by = stamp(actor_of_user(boss))
    given = access.give_role(new=access.NewRole(username="rowan", role=Role.OFFICER, club=club), stamp=by)
    access.take_role(membership=given, stamp=by)
    facts = {"user": str(given.user_id), "role": "officer", "club": str(club.id), "team": None}
    assert (told("role_given"), told("role_taken")) == ([facts], [facts])


def test_a_devices_token_carries_its_role_until_it_is_revoked(club: Club, boss: User) -> None:
    by = stamp(actor_of_user(boss))
    made = devices.add_device(new=devices.NewDevice(club=club, role=Role.OFFICER, label="tablet"), stamp=by)
    actor = actor_of_token(made.secret, AT)
    assert actor is not None
    assert (actor.is_device, actor.club_ids) == (True, frozenset({club.id}))
    devices.revoke_token(token_id=AccessToken.objects.get(user=made.user).id, stamp=by)
    assert actor_of_token(made.secret, AT) is None
    with pytest.raises(ConflictError, match="revoked already"):
        devices.revoke_token(token_id=AccessToken.objects.get(user=made.user).id, stamp=by)
    assert told("token_made") == [{"user": str(made.user.id)}]
    assert [facts["user"] for facts in told("token_revoked")] == [str(made.user.id)]


def test_an_auditors_device_reads_every_club(club: Club, boss: User) -> None:
    new = devices.NewDevice(club=club, role=Role.AUDITOR)
    actor = actor_of_token(devices.add_device(new=new, stamp=stamp(actor_of_user(boss))).secret, AT)
    assert actor is not None
    assert actor.sees_every_club


def test_a_role_that_does_not_fit_its_place_makes_no_account(club: Club, boss: User) -> None:
    by = stamp(actor_of_user(boss))
    elsewhere = TeamFactory.create(club=ClubFactory.create(organisation=club.organisation))
    own = TeamFactory.create(club=club)
    before = User.objects.count()
    for role, team in ((Role.COACH, None), (Role.COACH, elsewhere), (Role.OFFICER, own)):
        with pytest.raises(InvalidInputError):
            devices.add_device(new=devices.NewDevice(club=club, role=role, team=team), stamp=by)
    assert User.objects.count() == before


def test_no_device_makes_or_revokes_tokens(club: Club) -> None:
    machine = person(Role.ADMINISTRATOR, at=club.organisation, is_device=True)
    by = stamp(actor_of_user(machine))
    with pytest.raises(NotPermittedError):
        devices.add_device(new=devices.NewDevice(club=club, role=Role.OFFICER), stamp=by)
    with pytest.raises(NotPermittedError):
        devices.new_token(user=machine, label="", stamp=by)
