"""`python -m tests.faults [--rounds N] [--seed S] [WORD ...]`: kill, flush and silence, and compare what is left.

Words choose faults by their names; without any, all of them. Every seed is printed.
"""

import argparse
import random
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic
from typing import Any

from tests.faults import embedded, redis_faults
from tests.faults.grown_up import Databases, databases

Run = Callable[[int, Path], dict[str, Any]]


def main(arguments: list[str] | None = None) -> int:
    """Run them; 0 when nothing was lost, doubled or left behind."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults")
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**6))
    parser.add_argument("words", nargs="*")
    options = parser.parse_args(arguments)
    with databases() as made:
        chosen = [
            run
            for run in runs(made)
            if (not options.words or any(word.lower() in run[0].lower() for word in options.words))
        ]
        seeds = range(options.seed, options.seed + options.rounds)
        failed = [name for seed in seeds for name, run in chosen if not passes(name, run, seed)]
    print(f"failed: {', '.join(failed) or 'nothing'}", flush=True)  # noqa: T201 - a command's answer
    return int(bool(failed))


def runs(made: Databases) -> Iterator[tuple[str, Run]]:
    """Every fault by its name."""
    yield "embedded kill -9", embedded.kill_minus_9
    for name, fault in redis_faults.FAULTS.items():
        yield name, lambda seed, folder, fault=fault: fault(seed, folder, made)  # type: ignore[misc]


def passes(name: str, run: Run, seed: int) -> bool:
    """Run one in a folder that is thrown away, and say what it found."""
    began = monotonic()
    with tempfile.TemporaryDirectory(prefix="gearlife-faults-") as folder:
        try:
            found: object = run(seed, Path(folder))
        except Exception:  # noqa: BLE001 - whatever it was is printed, and the next is run
            traceback.print_exc()
            found = None
        for log in [] if found else Path(folder).glob("*.log"):
            sys.stderr.write(f"-- {log.name}\n{log.read_text(errors='replace')[-3000:]}\n")
    print(f"{name}, seed {seed}: {found or 'FAILED'} in {monotonic() - began:.0f} s", flush=True)  # noqa: T201
    return bool(found)


if __name__ == "__main__":
    sys.exit(main())
