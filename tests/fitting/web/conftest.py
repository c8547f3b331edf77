"""Browsers of people with one role, while the clock of the pages stands still."""

from collections.abc import Callable

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Organisation, Team
from tests import factories
from tests.pages import sign_in

Browse = Callable[[Role, Club | Team | Organisation], Client]


@pytest.fixture
def browse(standing_clock: None) -> Browse:
    """A browser in which a new person with this role is signed in."""
    return lambda role, at: sign_in(Client(), factories.person(role, at=at))


@pytest.fixture
def browser(browse: Browse, club: Club) -> Client:
    """The club's officer's."""
    return browse(Role.OFFICER, club)
