"""The fixed moment of the tests of our resources; a club and its officer."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from gearlife.domain.vocabulary import Role
from tests.factories import AT, ClubFactory, person, token
from tests.gearlife.api.base_probe import Caller


@pytest.fixture
def mid_season() -> Iterator[None]:
    """It is 11 in the morning of a Wednesday in mid-season."""
    with time_machine.travel(AT, tick=False):
        yield


@pytest.fixture
def club(db: None) -> Any:
    return ClubFactory.create()


@pytest.fixture
def officer(club: Any) -> Caller:
    return Caller(token(person(Role.OFFICER, at=club)))
