"""`python -m tests.long [RUN ...] [--seed N]`: what takes longer than a landing may, on every database that answers.

The same tests as in the suite, with more and other cases (`GEARLIFE_LONG=1`). The seed is printed; given again, it
gives the same cases.
"""

import argparse
import os
import secrets
import subprocess
import sys
import tempfile

from tests.__main__ import databases

RUNS = {
    "machine": ["tests/machine"],
    "fuzz": ["tests/fuzz", "-s"],
    "phones": ["tests/inspections/test_phones.py"],
}
# Programs of their own, which make their own databases.
PROGRAMS = {"faults": ["tests.faults", "--rounds=3"]}


def main() -> int:
    """Run what is named, or all of it; 0 when everything passed."""
    parser = argparse.ArgumentParser(prog="python -m tests.long", description=(__doc__ or "").splitlines()[0])
    parser.add_argument("runs", nargs="*", metavar="RUN", help=", ".join([*RUNS, *PROGRAMS]))
    parser.add_argument("--seed", type=int, default=secrets.randbelow(2**32))
    asked = parser.parse_args()
    if unknown := set(asked.runs) - {*RUNS, *PROGRAMS}:
        parser.error(f"no such run: {', '.join(sorted(unknown))}")
    chosen = asked.runs or [*RUNS, *PROGRAMS]
    failed = [
        f"{run} on {name}"
        for run in chosen
        if run in RUNS
        for name, url in databases().items()
        if not passes(run, name, url, asked.seed)
    ]
    failed += [run for run in chosen if run in PROGRAMS and not succeeds(PROGRAMS[run], asked.seed)]
    print(f"failed, with --seed {asked.seed}: {', '.join(failed)}" if failed else "passed", flush=True)  # noqa: T201 - a command's answer
    return int(bool(failed))


def passes(run: str, name: str, url: str, seed: int) -> bool:
    """Run one in a process of its own, with nothing of the user's data in reach."""
    print(f"== {run} on {name}, seed {seed}", flush=True)  # noqa: T201 - a command's answer
    with tempfile.TemporaryDirectory() as folder:
        env = {
            **os.environ,
            "GEARLIFE_LONG": "1",
            "GEARLIFE_VAR_DIR": folder,
            "GEARLIFE_DATABASE_URL": url or f"sqlite:///{folder}/db.sqlite3",
        }
        command = [sys.executable, "-m", "pytest", *RUNS[run], f"--hypothesis-seed={seed}"]
        return subprocess.run(command, env=env, check=False).returncode == 0


def succeeds(program: list[str], seed: int) -> bool:
    """Run one that is not made of the suite's tests."""
    return subprocess.run([sys.executable, "-m", *program, f"--seed={seed}"], check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main())
