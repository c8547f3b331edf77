"""The embedded default under kill -9: worker, parent, or all of it, at seeded moments."""

import random
import signal
import subprocess
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from tests.faults.checks import check
from tests.faults.clients import Load, World
from tests.faults.running import Place, children, free_port, kill, ready, wait_for

START_SECONDS = 30.0
VICTIMS = ("worker", "parent", "all")


class Demo:
    """`manage.py demo` in a folder of its own."""

    def __init__(self, place: Place) -> None:
        """Start it, and wait until it answers."""
        self.port = free_port()
        self._place = place
        self.process: subprocess.Popen[bytes]
        self.start()

    def start(self) -> float:
        """Start it (again) at the same port; after how many seconds it answered."""
        began = monotonic()
        self.process = self._place.start("demo", "manage.py", "demo", f"--port={self.port}")
        wait_for(lambda: ready(self.port) or self.process.poll() is not None, "demo answers")
        assert self.process.poll() is None, self._place.log("demo")
        return monotonic() - began

    def strike(self, victim: str) -> None:
        """Kill -9, and see that nothing of what was to go is left; a killed worker is replaced by the parent."""
        parent = self.process.pid
        workers = wait_for(lambda: children(parent), "there is a worker")
        struck = {"worker": workers, "parent": [parent], "all": [parent, *workers]}[victim]
        for pid in struck:
            kill(pid)
        if victim == "worker":
            wait_for(lambda: set(children(parent)) - set(workers), "there is another worker")
        else:
            self.process.wait(10)
            wait_for(lambda: not self._place.alive(), "no worker is left", 10)

    def stop(self) -> None:
        """End it in order."""
        self.process.send_signal(signal.SIGTERM)
        assert self.process.wait(20) == 0
        assert not self._place.alive()


def kill_minus_9(seed: int, folder: Path, victims: tuple[str, ...] = VICTIMS) -> dict[str, Any]:
    """Kill each of the victims once, in a seeded order, while three clients write."""
    chance = random.Random(seed)
    place = Place(folder)
    try:
        demo = Demo(place)
        world, before = World(**place.inside("world")), place.inside("counts")
        starts = []
        with Load(world, f"http://127.0.0.1:{demo.port}", seed) as load:
            for victim in chance.sample(victims, len(victims)):
                sleep(chance.uniform(0.5, 3.0))
                demo.strike(victim)
                if victim != "worker":
                    starts.append(demo.start())
            sleep(1.0)
        demo.stop()
        assert max(starts, default=0.0) < START_SECONDS
        return check(place, before, load) | {"slowest_start_seconds": round(max(starts, default=0.0), 1)}
    finally:
        place.kill_all()
