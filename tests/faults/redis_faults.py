"""Faults of workers, web and Redis in the grown-up system, each seeded and at most about a minute long."""

import os
import random
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import sleep
from typing import Any

from tests.faults.brokers import Broker, silent
from tests.faults.clients import FEWEST_ACTS, Load
from tests.faults.grown_up import Databases, System
from tests.faults.running import kill, wait_for

# A lease is two minutes in truth; the tests that kill whoever has one shorten it.
SHORT_LEASE = {"FAULTS_LEASE": "5", "FAULTS_SLOW": "0.5"}
WRITE_SECONDS_MAX = 3.0
MANY_ASKED = 12

Fault = Callable[[int, Path, Databases], dict[str, Any]]


@contextmanager
def grown_up(folder: Path, databases: Databases) -> Iterator[tuple[System, Broker]]:
    """The system with its web and a Redis of its own; nothing of it is left."""
    with Broker(folder) as broker:
        system = System(folder, databases.copy(folder), broker)
        try:
            yield system, broker
        finally:
            system.place.kill_all()


def killed_child(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R1: kill -9 of a worker's child in the middle of a task."""
    with grown_up(folder, databases) as (system, _):
        system.worker(**SHORT_LEASE)
        system.beat()
        with system.load(seed) as load:
            for _ in range(3):
                kill(_delivering(system))
                sleep(random.Random(seed).uniform(0.5, 2.0))
        return {"done_after_seconds": system.all_done()} | system.check(load)


def killed_tree(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R2: kill -9 of a whole worker in the middle of a batch, and another worker started."""
    with grown_up(folder, databases) as (system, _):
        system.beat()
        with system.load(seed) as load:
            for _ in range(2):
                worker = system.worker(**SHORT_LEASE)
                _delivering(system)
                os.killpg(worker.pid, signal.SIGKILL)
                (system.place.var / "delivering").unlink(missing_ok=True)
            sleep(random.Random(seed).uniform(0.5, 2.0))
        left = system.due()
        assert left, "nothing was left half-way"
        system.worker(FAULTS_LEASE="5")
        return {"left": left, "done_after_seconds": system.all_done()} | system.check(load)


def killed_before_publishing(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R5: kill -9 of a web process between a commit and the wake-up's publish."""
    with grown_up(folder, databases) as (system, _):
        system.worker()
        system.beat()
        mark = system.place.var / "die"
        with system.load(seed) as load:
            for _ in range(3):
                mark.touch()
                wait_for(lambda: not mark.exists(), "a web process died")
                sleep(random.Random(seed).uniform(0.2, 1.0))
        assert any(act.attempts > 1 for act in load.acts), "no client was cut off"
        return {"done_after_seconds": system.all_done()} | system.check(load)


def flushed(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R7: FLUSHALL, again and again, during load."""
    with grown_up(folder, databases) as (system, broker):
        system.worker()
        system.beat()
        chance = random.Random(seed)
        with system.load(seed) as load:
            for _ in load.until(40):
                sleep(chance.uniform(0.1, 0.8))
                broker.flush()
        return {"done_after_seconds": system.all_done()} | system.check(load)


def restarted(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R8: kill -9 of Redis under load, without persistence; it comes back, empty, after a while."""
    with grown_up(folder, databases) as (system, broker):
        system.worker()
        system.beat()
        with system.load(seed) as load:
            calm = slowest_when_calm(load)
            broker.kill()
            sleep(random.Random(seed).uniform(6.0, 12.0))
        undone = system.due()
        broker.start()
        figures = {"undone_without_redis": undone, "done_after_seconds": system.all_done()}
        return figures | slowest(load, calm) | system.check(load)


def silenced(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R9: a Redis that accepts and says nothing; a true one comes back."""
    with grown_up(folder, databases) as (system, broker):
        system.worker()
        system.beat()
        with system.load(seed) as load:
            calm = slowest_when_calm(load)
            broker.kill()
            with silent(broker.port):
                sleep(12.0)
        broker.start()
        return {"done_after_seconds": system.all_done()} | slowest(load, calm) | system.check(load)


def two_beats(seed: int, folder: Path, databases: Databases) -> dict[str, Any]:
    """R18: two beats that each ask for a sweep every second, two workers: swept once for the day."""
    with grown_up(folder, databases) as (system, _):
        system.worker()
        system.worker()
        for number in range(2):
            system.beat(number, FAULTS_HASTY="1")
        with system.load(seed) as load:
            wait_for(lambda: _asked(system) >= MANY_ASKED, "the two beats ask")
            sleep(2.0)
        asked, swept = _asked(system), system.place.inside("counts")["sweeps"]
        assert len(swept) == len(set(swept)) == 1, f"swept {len(swept)} times"
        return {"asked": asked, "sweeps": len(swept)} | system.check(load)


FAULTS: dict[str, Fault] = {
    "R1 killed child": killed_child,
    "R2 killed tree": killed_tree,
    "R5 killed before publishing": killed_before_publishing,
    "R7 flushed": flushed,
    "R8 restarted": restarted,
    "R9 silent": silenced,
    "R18 two beats": two_beats,
}


def slowest_when_calm(load: Load) -> float:
    """The slowest write before the fault: what the machine itself takes, busy with whatever else."""
    for _ in load.until(FEWEST_ACTS):
        sleep(0.1)
    return load.seconds()[-1]


def slowest(load: Load, calm: float) -> dict[str, float]:
    """The slowest writes; p99 must stay under three seconds more than the slowest took before the fault."""
    seconds = load.seconds()
    p99 = seconds[int(len(seconds) * 0.99)]
    assert p99 < calm + WRITE_SECONDS_MAX, f"p99 of writes was {p99:.1f} s, and {calm:.1f} s the slowest before"
    return {"calm": round(calm, 2), "p99": round(p99, 2), "slowest": round(seconds[-1], 2)}


def _asked(system: System) -> int:
    return system.place.log("beat").count("Sending due task")


def _delivering(system: System) -> int:
    """The id of a worker's child that is delivering right now."""
    mark = system.place.var / "delivering"
    mark.unlink(missing_ok=True)
    return int(wait_for(lambda: mark.exists() and mark.read_text(), "a child is delivering"))
