"""Who acts: bearer tokens and doorways."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, Item, Membership, User
from gearlife.operations import access
from gearlife.queries.access import actor_of_token, actor_of_user
from tests.factories import (
    AT,
    ClubFactory,
    ItemFactory,
    OrganisationFactory,
    TeamFactory,
    UserFactory,
    actor,
    person,
    token,
)

pytestmark = pytest.mark.django_db


def an_officer() -> User:
    """Somebody with a role."""
    return person(Role.OFFICER, at=ClubFactory.create())


def test_a_token_finds_its_actor_with_every_role_in_one_query() -> None:
    user = an_officer()
    access.grant(user=user, role=Role.COACH, team=TeamFactory.create(club__organisation=user.organisation))
    secret = token(user)
    with CaptureQueriesContext(connection) as queries:
        found = actor_of_token(secret, AT)

    assert len(queries) == 1
    assert found
    assert (found.roles, found.timezone) == (frozenset({Role.OFFICER, Role.COACH}), "America/Chicago")
    assert set(found.grants) == set(actor_of_user(user).grants)


def test_only_a_hash_of_the_secret_is_kept() -> None:
    secret = token(an_officer())
    kept = AccessToken.objects.values_list().get()

    assert secret not in str(kept)
    assert len(secret) >= 43


@pytest.mark.parametrize(("days", "known"), [(364, True), (365, False)])
def test_a_token_is_known_until_it_expires(days: int, known: bool) -> None:
    secret = token(an_officer())

    assert (actor_of_token(secret, AT + timedelta(days=days)) is not None) == known


def test_a_revoked_token_is_not_known() -> None:
    user = an_officer()
    secret = token(user)

    assert access.revoke_tokens(user=user, label="test", at=AT) == 1
    assert actor_of_token(secret, AT) is None


def test_an_inactive_users_token_is_not_known() -> None:
    user = an_officer()
    secret = token(user)
    User.objects.filter(id=user.id).update(is_active=False)

    assert actor_of_token(secret, AT) is None


def test_a_secret_that_was_never_issued_is_not_known() -> None:
    assert actor_of_token("never issued", AT) is None


def test_a_user_without_any_role_is_known_and_may_nothing() -> None:
    found = actor_of_token(token(UserFactory.create()), AT)

    assert found
    assert not found.roles


def test_a_membership_of_another_organisation_gives_no_role() -> None:
    user = an_officer()
    foreign = OrganisationFactory.create()
    Membership.objects.create(organisation=foreign, user=user, role=Role.ADMINISTRATOR.value)

    assert actor_of_user(user).roles == frozenset({Role.OFFICER})
    found = actor_of_token(token(user), AT)
    assert found
    assert found.roles == frozenset({Role.OFFICER})


def test_nobody_sees_an_item_of_another_organisation() -> None:
    item, elsewhere = ItemFactory.create(), ClubFactory.create()

    for role in (Role.ADMINISTRATOR, Role.AUDITOR, Role.OFFICER):
        at = elsewhere if role is Role.OFFICER else elsewhere.organisation
        assert not Item.objects.visible_to(actor(role, at=at)).filter(id=item.id)


def test_an_officer_sees_the_own_club_and_no_other() -> None:
    item = ItemFactory.create()
    other = ClubFactory.create(organisation=item.organisation)

    assert Item.objects.visible_to(actor(Role.OFFICER, at=item.club)).filter(id=item.id)
    assert not Item.objects.visible_to(actor(Role.OFFICER, at=other)).filter(id=item.id)


def test_a_coach_sees_the_gear_of_the_own_team() -> None:
    team = TeamFactory.create()
    mine, others = ItemFactory.create(club=team.club, team=team), ItemFactory.create(club=team.club)

    assert list(Item.objects.visible_to(actor(Role.COACH, at=team))) == [mine]
    assert others.team is None


def test_an_auditor_sees_every_club_of_the_organisation() -> None:
    item = ItemFactory.create()

    assert Item.objects.visible_to(actor(Role.AUDITOR, at=item.organisation)).filter(id=item.id)
