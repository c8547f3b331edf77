"""`python -m tests [pytest's arguments]`: the suite on SQLite and, where it answers, on PostgreSQL.

The last lines say what was left out. `GEARLIFE_TESTS_REQUIRE="postgresql redis-server"` makes an absence a failure.
The faults of processes make their own databases, so each is tried once: the embedded ones beside SQLite, those of a
real Redis beside PostgreSQL.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from urllib.parse import urlsplit

import psycopg

POSTGRESQL = os.environ.get("GEARLIFE_TEST_POSTGRESQL_URL", "postgres://postgres@127.0.0.1:5432/postgres")
EMBEDDED_FAULTS, REDIS_FAULTS = "tests/faults/test_embedded.py", "tests/faults/test_redis.py"


def main() -> int:
    """Run it; 0 when everything that ran has passed and nothing required was left out."""
    found = databases()
    failed = [name for name, url in found.items() if not passes(name, url)]
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
    return left_out


def not_here(url: str) -> list[str]:
    """The faults that this run does not try: those of the other one, and what cannot be had."""
    redis = url and shutil.which("redis-server")
    return [EMBEDDED_FAULTS] * bool(url) + [REDIS_FAULTS] * (not redis)


def databases() -> dict[str, str]:
    """The databases that can be had, by name: SQLite always, in a folder that is thrown away."""
    try:
        psycopg.connect(POSTGRESQL, connect_timeout=3).close()
    except psycopg.OperationalError:
        return {"SQLite": ""}
    return {"SQLite": "", "PostgreSQL": POSTGRESQL}


def passes(name: str, url: str) -> bool:
    """Run pytest once, in a process of its own, with nothing of the user's data in reach."""
    print(f"== the suite on {name}", flush=True)  # noqa: T201 - a command's answer
    with tempfile.TemporaryDirectory() as folder:
        env = {
            **os.environ,
            "GEARLIFE_VAR_DIR": folder,
            "GEARLIFE_DATABASE_URL": url or f"sqlite:///{folder}/db.sqlite3",
        }
        ignored = [f"--ignore={path}" for path in not_here(url)]
        command = [sys.executable, "-m", "pytest", *ignored, *sys.argv[1:]]
        return subprocess.run(command, env=env, check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main())
