"""Several drains and acts at once: every message is delivered once, and every key is written once."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from gearlife.models import OutboxMessage
from gearlife.operations import outbox
from gearlife.operations.outbox import drain
from tests.factories import OrganisationFactory
from tests.gearlife.operations.recorded_messages import Recorded, minutes, written


@pytest.fixture
def recorded(monkeypatch: pytest.MonkeyPatch) -> Recorded:
    kind = Recorded()
    monkeypatch.setattr(outbox, "_kinds", {kind.name: kind})
    return kind


def at_once(count: int, act: Any) -> list[Any]:
    start = Barrier(count)

    def run(which: int) -> Any:
        try:
            start.wait(timeout=20)
            return act(which)
        finally:
            connection.close()

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(run, range(count)))


@pytest.mark.django_db(transaction=True)
def test_drains_at_once_deliver_every_message_once(recorded: Recorded) -> None:
    keys = [f"k{n:02}" for n in range(30)]
    written(*keys)
    at_once(3, lambda which: drain(minutes(1)))

    assert sorted(recorded.delivered) == keys
    assert not OutboxMessage.objects.waiting().exists()


@pytest.mark.django_db(transaction=True)
def test_acts_at_once_write_a_key_once(recorded: Recorded) -> None:
    owner = OrganisationFactory.create()
    at_once(3, lambda which: written("a", organisation=owner))
    drain(minutes(1))

    assert recorded.delivered == ["a"]
