"""`python -m tests [pytest's arguments]`: the suite on SQLite and, where it answers, on PostgreSQL.

The last lines say what was left out. `GEARLIFE_TESTS_REQUIRE=postgresql` makes its absence a failure.
"""

import os
import subprocess
import sys
import tempfile
from urllib.parse import urlsplit

import psycopg

POSTGRESQL = os.environ.get("GEARLIFE_TEST_POSTGRESQL_URL", "postgres://postgres@127.0.0.1:5432/postgres")


def main() -> int:
    """Run it; 0 when everything that ran has passed and nothing required was left out."""
    found = databases()
    failed = [name for name, url in found.items() if not passes(name, url)]
    left_out = [] if "PostgreSQL" in found else [f"PostgreSQL (none answers at {urlsplit(POSTGRESQL).hostname})"]
    if left_out and "postgresql" in os.environ.get("GEARLIFE_TESTS_REQUIRE", ""):
        failed += left_out
    print(f"left out: {', '.join(left_out) or 'nothing'}", flush=True)  # noqa: T201 - a command's answer
    if failed:
        print(f"failed: {', '.join(failed)}", flush=True)  # noqa: T201 - a command's answer
    return int(bool(failed))


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
        command = [sys.executable, "-m", "pytest", *sys.argv[1:]]
        return subprocess.run(command, env=env, check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main())
