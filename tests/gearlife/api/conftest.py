"""A club and its officer."""

from typing import Any

import pytest

from gearlife.domain.vocabulary import Role
from tests.factories import ClubFactory, person, token
from tests.gearlife.api.base_probe import Caller


@pytest.fixture
def club(db: None) -> Any:
    return ClubFactory.create()


@pytest.fixture
def officer(club: Any) -> Caller:
    return Caller(token(person(Role.OFFICER, at=club)))
