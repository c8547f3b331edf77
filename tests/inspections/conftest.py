"""A club in mid-season, its people with their tokens, and the API's clock standing at the tests' moment."""

from collections.abc import Iterator

import pytest
import time_machine

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from tests import factories
from tests.gearlife.api.base_probe import Caller


@pytest.fixture
def standing_clock() -> Iterator[None]:
    """The clock of the edges stands at `AT`."""
    with time_machine.travel(factories.AT, tick=False):
        yield


@pytest.fixture
def club(db: None) -> Club:
    return factories.ClubFactory.create()


@pytest.fixture
def team(club: Club) -> Team:
    return factories.TeamFactory.create(club=club)


@pytest.fixture
def item(club: Club) -> Item:
    return factories.ItemFactory.create(club=club)


def caller(role: Role, at: Club | Team, *, is_device: bool = False) -> Caller:
    """Somebody with one role and a token."""
    return Caller(factories.token(factories.person(role, at=at, is_device=is_device)))


@pytest.fixture
def officer(club: Club, standing_clock: None) -> Caller:
    return caller(Role.OFFICER, club)


@pytest.fixture
def administrator(club: Club, standing_clock: None) -> Caller:
    # An administrator's role names no club.
    return Caller(factories.token(factories.person(Role.ADMINISTRATOR, at=club.organisation)))


@pytest.fixture
def device(club: Club, standing_clock: None) -> Caller:
    return caller(Role.OFFICER, club, is_device=True)


@pytest.fixture
def coach(team: Team, standing_clock: None) -> Caller:
    return caller(Role.COACH, team)


@pytest.fixture
def foreigner(standing_clock: None, db: None) -> Caller:
    return Caller(factories.token(factories.person(Role.ADMINISTRATOR, at=factories.OrganisationFactory.create())))
