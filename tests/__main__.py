"""`python -m tests [pytest's arguments]`: the suite on SQLite and, where it answers, on PostgreSQL.

Both run at the same time; the second one's output is printed when the first has ended. The last lines say what was
left out. `GEARLIFE_TESTS_REQUIRE="postgresql redis-server chromium exiftool"` makes an absence a failure.
The faults of processes make their own databases, so each is tried once: the embedded ones beside SQLite, those of a
real Redis beside PostgreSQL. The browser looks at the demo, beside SQLite, where Debian's Chromium is installed.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

POSTGRESQL = os.environ.get("GEARLIFE_TEST_POSTGRESQL_URL", "postgres://postgres@127.0.0.1:5432/postgres")
CHROMIUM = "/usr/bin/chromium"
BROWSER = "tests/browser"
EMBEDDED_FAULTS, REDIS_FAULTS = "tests/faults/test_embedded.py", "tests/faults/test_redis.py"


def main() -> int:
    """Run it; 0 when everything that ran has passed and nothing required was left out."""
    found = databases()
    with ExitStack() as everything:
        runs = [everything.enter_context(Run(name, url)) for name, url in found.items()]
        failed = [run.name for run in runs if not run.passes()]
    left_out = absent(found)
    required = os.environ.get("GEARLIFE_TESTS_REQUIRE", "").split()
    failed += [why for what, why in left_out.items() if what in required]
    print(f"left out: {', '.join(left_out.values()) or 'nothing'}", flush=True)  # noqa: T201 - a command's answer
    if failed:
        print(f"failed: {', '.join(failed)}", flush=True)  # noqa: T201 - a command's answer
    return int(bool(failed))


def absent(found: dict[str, str]) -> dict[str, str]:
    """What cannot be had, and so was left out, each with why."""
    left_out = {}
    if "PostgreSQL" not in found:
        left_out["postgresql"] = f"PostgreSQL (none answers at {urlsplit(POSTGRESQL).hostname})"
    if "postgresql" in left_out or not shutil.which("redis-server"):
        left_out["redis-server"] = "the faults of a real Redis (they want PostgreSQL and redis-server)"
    if not Path(CHROMIUM).exists():
        left_out["chromium"] = f"the pages in a browser (there is no {CHROMIUM})"
    if not shutil.which("exiftool"):
        left_out["exiftool"] = "another's reader of pictures (there is no exiftool)"
    return left_out


def not_here(url: str) -> list[str]:
    """The faults that this run does not try: those of the other one, and what cannot be had."""
    redis = url and shutil.which("redis-server")
    looks = not url and Path(CHROMIUM).exists()
    return [EMBEDDED_FAULTS] * bool(url) + [REDIS_FAULTS] * (not redis) + [BROWSER] * (not looks)


def databases() -> dict[str, str]:
    """The databases that can be had, by name: SQLite always, in a folder that is thrown away."""
    try:
        psycopg.connect(POSTGRESQL, connect_timeout=3).close()
    except psycopg.OperationalError:
        return {"SQLite": ""}
    return {"SQLite": "", "PostgreSQL": POSTGRESQL}


class Run:
    """Pytest on one database, in a process of its own, with nothing of the user's data in reach."""

    def __init__(self, name: str, url: str) -> None:
        """Name the database; without an address it is SQLite's file in a folder that is thrown away."""
        self.name, self.url = name, url

    def __enter__(self) -> "Run":
        """Start it; what it says goes to a file, and SQLite's, which is read first, as it comes."""
        self.folder = Path(tempfile.mkdtemp(prefix="gearlife-tests-"))
        env = {
            **os.environ,
            "GEARLIFE_VAR_DIR": str(self.folder),
            "GEARLIFE_DATABASE_URL": self.url or f"sqlite:///{self.folder}/db.sqlite3",
        }
        ignored = [f"--ignore={path}" for path in not_here(self.url)]
        command = [sys.executable, "-m", "pytest", *ignored, *sys.argv[1:]]
        self.said = (self.folder / "said.txt").open("w+") if self.url else None
        self.process = subprocess.Popen(command, env=env, stdout=self.said, stderr=self.said and subprocess.STDOUT)
        return self

    def passes(self) -> bool:
        """Wait until it has ended, and print what it said."""
        print(f"== the suite on {self.name}", flush=True)  # noqa: T201 - a command's answer
        passed = self.process.wait() == 0
        if self.said:
            self.said.seek(0)
            print(self.said.read(), flush=True)  # noqa: T201 - a command's answer
        return passed

    def __exit__(self, *_: object) -> None:
        """Leave nothing behind, when the user has had enough of it either."""
        if self.process.poll() is None:
            self.process.terminate()
            self.process.wait()
        if self.said:
            self.said.close()
        shutil.rmtree(self.folder, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())
