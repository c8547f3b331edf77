"""Who inspects, and when."""

import pytest

from gearlife.domain.access import Stamp
from gearlife.models import Club
from tests import factories


@pytest.fixture
def stamp(club: Club) -> Stamp:
    return factories.stamp(factories.officer(club))
