"""Organisations, clubs, seasons, teams and the people who work for them."""

# mypy: disable-error-code="no-untyped-call"
# factory-boy's declarations carry no annotations; what `create` gives is typed.

from datetime import datetime
from typing import Any

from factory.base import Factory
from factory.declarations import Sequence, SubFactory

from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Organisation, Season, Team, User
from gearlife.operations import access, organisations
from gearlife.queries.access import actor_of_user
from tests.factories.moments import AT, LAST_GAME, SEASON_BEGINS, ZONE, stamp


class OrganisationFactory(Factory[Organisation]):
    """An organisation with its ledger, default policy rules, and whatever other packages add on founding."""

    class Meta:
        model = Organisation

    name = Sequence(lambda n: f"Riverlands League {n}")
    timezone = ZONE
    at = AT

    @classmethod
    def _create(cls, model_class: type[Organisation], *args: Any, **kwargs: Any) -> Organisation:
        return organisations.found_organisation(**kwargs)


class ClubFactory(Factory[Club]):
    """A club in the middle of its season; `in_season=False` enters none."""

    class Meta:
        model = Club

    organisation = SubFactory(OrganisationFactory)
    name = Sequence(lambda n: f"Otter Bend {n}")
    code = Sequence(lambda n: f"OB{n}")
    timezone = ZONE
    in_season = True

    @classmethod
    def _create(cls, model_class: type[Club], *args: Any, **kwargs: Any) -> Club:
        own = stamp(kwargs.pop("organisation"))
        in_season = kwargs.pop("in_season")
        club = organisations.add_club(stamp=own, **kwargs)
        if in_season:
            SeasonFactory.create(club=club)
        return club


class SeasonFactory(Factory[Season]):
    """The season that `DAY` lies in."""

    class Meta:
        model = Season

    club = SubFactory(ClubFactory, in_season=False)
    year = 2026
    starts_on = SEASON_BEGINS
    ends_on = LAST_GAME

    @classmethod
    def _create(cls, model_class: type[Season], *args: Any, **kwargs: Any) -> Season:
        return organisations.add_season(stamp=stamp(kwargs["club"].organisation), **kwargs)


class TeamFactory(Factory[Team]):
    """A team of a club."""

    class Meta:
        model = Team

    club = SubFactory(ClubFactory)
    name = Sequence(lambda n: f"Herons {n}")

    @classmethod
    def _create(cls, model_class: type[Team], *args: Any, **kwargs: Any) -> Team:
        return organisations.add_team(stamp=stamp(kwargs["club"].organisation), **kwargs)


class UserFactory(Factory[User]):
    """An account without any role; `is_device=True` for a phone's own."""

    class Meta:
        model = User

    organisation = SubFactory(OrganisationFactory)
    username = Sequence(lambda n: f"person-{n}")
    is_device = False

    @classmethod
    def _create(cls, model_class: type[User], *args: Any, **kwargs: Any) -> User:
        return access.add_user(**kwargs)


def person(role: Role, *, at: Club | Team | Organisation, is_device: bool = False) -> User:
    """A user with one role, in the club, team or organisation named."""
    organisation = at if isinstance(at, Organisation) else at.organisation
    user = UserFactory.create(organisation=organisation, is_device=is_device)
    team = at if isinstance(at, Team) else None
    club = at if isinstance(at, Club) else team.club if team else None
    access.grant(user=user, role=role, club=club, team=team)
    return user


def actor(role: Role, *, at: Club | Team | Organisation, is_device: bool = False) -> Actor:
    """The same person as the operations take one."""
    return actor_of_user(person(role, at=at, is_device=is_device))


def officer(club: Club) -> Actor:
    """An equipment officer of the club."""
    return actor(Role.OFFICER, at=club)


def device(club: Club) -> Actor:
    """A phone's own account at the club: it may inspect and hold, never release."""
    return actor(Role.OFFICER, at=club, is_device=True)


def token(user: User, at: datetime = AT) -> str:
    """The secret of a new bearer token of the user, valid for a year from `at`."""
    return access.issue_token(user=user, label="test", at=at)
