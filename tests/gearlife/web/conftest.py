"""A club and a team, and the browser of its officer."""

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Team
from tests.factories import ClubFactory, TeamFactory, person
from tests.pages import sign_in


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


@pytest.fixture
def team(club: Club) -> Team:
    made: Team = TeamFactory.create(club=club)
    return made


@pytest.fixture
def browser(club: Club) -> Client:
    return sign_in(Client(), person(Role.OFFICER, at=club))
