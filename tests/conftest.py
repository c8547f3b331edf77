"""What every test stands on: a file database, and a flush that the ledger's triggers let through."""

import math
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
import time_machine
from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.management.commands import flush
from django.db import connections

from gearlife.models.ledger_triggers import create_triggers, drop_triggers
from gearlife.operations import waiting
from tests.factories import AT

# A landing meets the same cases as the one before it; the long runs draw new ones and print their seed.
hypothesis.settings.register_profile("suite", derandomize=not os.environ.get("GEARLIFE_LONG"))
hypothesis.settings.load_profile("suite")

NAME = f"gearlife_tests_{os.getpid()}"  # so that two suites can run at once


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Name the test database; on SQLite a file, for in memory WAL and IMMEDIATE mean nothing."""
    database = settings.DATABASES["default"]
    folder = tmp_path_factory.mktemp("database")
    is_file = database["ENGINE"].endswith("sqlite3")
    database.setdefault("TEST", {})["NAME"] = str(folder / "tests.sqlite3") if is_file else NAME


@pytest.fixture(scope="session", autouse=True)
def flush_past_the_triggers() -> Iterator[None]:
    """Tests that commit are cleaned by a flush: drop the append-only triggers around it, as nothing else may."""
    flush_all = flush.Command.handle

    def flush_past(command: flush.Command, **options: Any) -> None:
        connection = connections[options["database"]]
        drop_triggers(connection)
        flush_all(command, **options)
        create_triggers(connection)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(flush.Command, "handle", flush_past)
        yield


QUICK = {"time_cost": 1, "memory_cost": 8, "parallelism": 1}


@pytest.fixture(scope="session", autouse=True)
def quick_passwords() -> Iterator[None]:
    """The same hasher with the least work: two hundred wrong passwords are tried in these tests."""
    with pytest.MonkeyPatch.context() as patch:
        for name, least in QUICK.items():
            patch.setattr(Argon2PasswordHasher, name, least)
        yield


@pytest.fixture(autouse=True)
def no_wake_ups(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that commit wake no worker: what waits is asked for by the tests themselves."""
    monkeypatch.setattr(waiting, "_silent_until", math.inf)


@pytest.fixture(autouse=True)
def media_folder(tmp_path: Path, settings: Any) -> None:
    """Photographs of tests go to a folder of the test's own."""
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def mid_season() -> Iterator[None]:
    """It is 11 in the morning of a Wednesday in mid-season."""
    with time_machine.travel(AT, tick=False):
        yield
