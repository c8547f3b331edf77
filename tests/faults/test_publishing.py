"""A broker that refuses or says nothing costs a request at most one time-out, and the next ones nothing."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

import pytest

from tests.faults.brokers import silent
from tests.faults.running import ROOT, Place, free_port

SEND_TWICE = """
import time
import django; django.setup()
from gearlife.operations import waiting
for _ in range(2):
    began = time.monotonic(); waiting._send(); print(time.monotonic() - began)
"""


@pytest.fixture(params=["refuses", "says nothing"])
def broker(request: pytest.FixtureRequest) -> Iterator[int]:
    port = free_port()
    faulty: AbstractContextManager[None] = silent(port) if request.param == "says nothing" else nullcontext()
    with faulty:
        yield port


def test_a_request_waits_for_a_faulty_broker_once_and_shortly(broker: int, tmp_path: Path) -> None:
    place = Place(tmp_path, GEARLIFE_REDIS_URL=f"redis://127.0.0.1:{broker}/0")
    env = place.environment | {"DJANGO_SETTINGS_MODULE": "gearlife.config.settings"}
    done = subprocess.run(
        [sys.executable, "-c", SEND_TWICE], cwd=ROOT, env=env, capture_output=True, timeout=60, check=True
    )
    first, second = map(float, done.stdout.split())
    assert first < 3.0
    assert second < 0.1
