"""The world of the fuzzing, and requests that stay in the test's own transaction."""

import logging
from collections.abc import Iterator

import pytest
import time_machine
from django.core.signals import request_finished, request_started
from django.db import close_old_connections

from tests.factories import AT
from tests.fuzz.world import World


@pytest.fixture
def world(db: None) -> Iterator[World]:
    """It is 11 in the morning of a Wednesday in mid-season."""
    with time_machine.travel(AT, tick=False):
        yield World()


@pytest.fixture(autouse=True)
def one_connection() -> Iterator[None]:
    """As Django's own test client has it: a request does not close the connection whose transaction is ours."""
    signals = (request_started, request_finished)
    for each in signals:
        each.disconnect(close_old_connections)
    yield
    for each in signals:
        each.connect(close_old_connections)


@pytest.fixture(autouse=True)
def quiet() -> Iterator[None]:
    """Thousands of refusals are meant here, and need no line each; an error still has its own."""
    logging.disable(logging.WARNING)
    yield
    logging.disable(logging.NOTSET)
