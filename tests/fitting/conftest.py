"""A club in mid-season, its officer, a team, and people with tokens while the clock of the API stands still."""

from collections.abc import Iterator

import pytest
import time_machine

from fitting.models import Player
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from tests import factories
from tests.fitting.club_to_plan import ToPlan
from tests.gearlife.api.base_probe import Caller


@pytest.fixture
def club(db: None) -> Club:
    return factories.ClubFactory.create()


@pytest.fixture
def team(club: Club) -> Team:
    return factories.TeamFactory.create(club=club)


@pytest.fixture
def now(club: Club) -> Stamp:
    """The club's officer, at the tests' moment."""
    return factories.stamp(factories.officer(club))


@pytest.fixture
def item(club: Club) -> Item:
    return factories.ItemFactory.create(club=club)


@pytest.fixture
def player(club: Club, team: Team) -> Player:
    return factories.PlayerFactory.create(club=club, team=team)


@pytest.fixture
def here(club: Club, team: Team) -> ToPlan:
    """What it takes to plan for the team."""
    return ToPlan(club, team)


@pytest.fixture
def standing_clock() -> Iterator[None]:
    """The clock of the edges stands at `AT`."""
    with time_machine.travel(factories.AT, tick=False):
        yield


def caller(role: Role, at: Club | Team) -> Caller:
    """Somebody with one role and a token."""
    return Caller(factories.token(factories.person(role, at=at)))


@pytest.fixture
def officer(club: Club, standing_clock: None) -> Caller:
    return caller(Role.OFFICER, club)


@pytest.fixture
def coach(team: Team, standing_clock: None) -> Caller:
    return caller(Role.COACH, team)


@pytest.fixture
def auditor(club: Club, standing_clock: None) -> Caller:
    return Caller(factories.token(factories.person(Role.AUDITOR, at=club.organisation)))


@pytest.fixture
def administrator(club: Club, standing_clock: None) -> Caller:
    return Caller(factories.token(factories.person(Role.ADMINISTRATOR, at=club.organisation)))
