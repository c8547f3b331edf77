"""The fixed moment of the tests of our resources."""

from collections.abc import Iterator

import pytest
import time_machine

from tests.factories import AT


@pytest.fixture
def mid_season() -> Iterator[None]:
    """It is 11 in the morning of a Wednesday in mid-season."""
    with time_machine.travel(AT, tick=False):
        yield
