"""Catching up with a change of policy survives being killed, and meets intakes at the same time."""

import os
import signal
import subprocess
import sys
import time
from threading import Thread

import pytest
from django.db import connection

from gearlife.domain.recorded import CLOCK, CLOCK_COLUMNS
from gearlife.models import Clock, Item
from gearlife.operations import policy_changes
from gearlife.operations.catching_up import catch_up_all
from gearlife.queries.ledger import first_broken
from gearlife.queries.recorded import read
from tests.factories import AT, DAY, ClubFactory, add_rule
from tests.gearlife.operations.many_items import helmets
from tests.gearlife.operations.test_catching_up import SHORT

pytestmark = pytest.mark.django_db(transaction=True)
MANY = 300
CATCH_UP = """
import django; django.setup()
from django.utils import timezone
from gearlife.operations import policy_changes
from gearlife.operations.catching_up import catch_up_all
policy_changes.CHUNK = 3
print("ready", flush=True)
print(catch_up_all(timezone.now()), flush=True)
"""


def url() -> str:
    """The test database, for another process."""
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    at = connection.settings_dict
    return f"postgres://{at['USER']}:{at['PASSWORD']}@{at['HOST']}:{at['PORT']}/{name}"


def stale() -> int:
    return Item.objects.with_stale_clocks().count()


def another_process() -> "subprocess.Popen[str]":
    env = {**os.environ, "GEARLIFE_DATABASE_URL": url(), "DJANGO_SETTINGS_MODULE": "gearlife.config.settings"}
    return subprocess.Popen([sys.executable, "-c", CATCH_UP], env=env, stdout=subprocess.PIPE, text=True)


def test_a_program_killed_while_catching_up_goes_on_where_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(policy_changes, "AT_ONCE", 0)
    club = ClubFactory.create()
    gear = helmets(club, MANY)
    add_rule(club.organisation, **SHORT)
    left = [MANY]
    for _ in range(3):
        with another_process() as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            until = time.monotonic() + 20
            while stale() == left[-1] and time.monotonic() < until:
                time.sleep(0.005)
            process.send_signal(signal.SIGKILL)
        left.append(stale())
    with another_process() as process:
        assert process.wait(60) == 0

    assert MANY > left[-1] > 0, f"none was killed half-way: {left}"
    assert sorted(left, reverse=True) == left
    assert stale() == 0
    about = read([item.id for item in gear], DAY)
    for item in about.items.values():
        assert set(Clock.objects.filter(item_id=item.id).values_list(*CLOCK_COLUMNS)) == {
            CLOCK(clock) for clock in about.reckoned(item)
        }
    assert first_broken(club.organisation_id) is None


def test_what_is_taken_in_while_a_rule_is_added_does_not_miss_it() -> None:
    club = ClubFactory.create()
    taken_in: list[Item] = []

    def take_in() -> None:
        try:
            for _ in range(12):
                taken_in.extend(helmets(club, 3))
        finally:
            connection.close()

    thread = Thread(target=take_in)
    thread.start()
    for number in range(6):
        add_rule(club.organisation, **SHORT | {"code": f"short_life_{number}"})
    thread.join(60)
    catch_up_all(AT)

    assert len(taken_in) == 36
    for item in taken_in:
        codes = set(item.clocks.values_list("code", flat=True))
        assert {f"short_life_{number}" for number in range(6)} <= codes
