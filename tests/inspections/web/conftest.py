"""An officer who is signed in, a team, and the clock standing at the tests' moment."""

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club
from tests.factories import person
from tests.pages import sign_in


@pytest.fixture
def page(client: Client, club: Club, standing_clock: None) -> Client:
    """The browser of the club's officer."""
    return sign_in(client, person(Role.OFFICER, at=club))
