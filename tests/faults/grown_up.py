"""The grown-up system: PostgreSQL, Redis, web processes, workers and beat, set by the environment alone."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

import psycopg

from tests.faults.brokers import Broker
from tests.faults.checks import check
from tests.faults.clients import Load, World
from tests.faults.running import Place, free_port, ready, wait_for

POSTGRESQL = os.environ.get("GEARLIFE_TEST_POSTGRESQL_URL", "postgres://postgres@127.0.0.1:5432/postgres")


@contextmanager
def databases() -> Iterator["Databases"]:
    """Databases of the test's own, dropped at the end."""
    with psycopg.connect(POSTGRESQL, autocommit=True) as server:
        made = Databases(server)
        try:
            yield made
        finally:
            for name in reversed(made.names):
                server.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)".encode())


class Databases:
    """Copies of one database with the demo club, which is taken in once."""

    def __init__(self, server: "psycopg.Connection[Any]") -> None:
        """Make nothing yet."""
        self.names: list[str] = []
        self._server = server

    def copy(self, folder: Path) -> str:
        """The address of a fresh one."""
        if not self.names:
            Place(folder / "template", GEARLIFE_DATABASE_URL=self._create("template0")).inside("load")
        return self._create(self.names[0])

    def _create(self, template: str) -> str:
        name = f"gearlife_faults_{uuid4().hex[:12]}"
        self._server.execute(f"CREATE DATABASE {name} TEMPLATE {template}".encode())
        self.names.append(name)
        return urlsplit(POSTGRESQL)._replace(path=f"/{name}").geturl()


class System:
    """Two web processes behind one port, and as many workers and beats as are started."""

    def __init__(self, folder: Path, database_url: str, broker: Broker) -> None:
        """Start the web."""
        self.place = Place(folder, GEARLIFE_DATABASE_URL=database_url, GEARLIFE_REDIS_URL=broker.url)
        self.world, self.before = World(**self.place.inside("world")), self.place.inside("counts")
        self.port = free_port()
        bind = f"--bind=127.0.0.1:{self.port}"
        self.place.start("web", "-m", "gunicorn", "--workers=2", bind, "tests.faults.dying_web")
        # Some in a row: each of the two processes has begun, else the first writes would measure that.
        wait_for(lambda: all(ready(self.port) for _ in range(8)), "the web answers")

    def worker(self, **patches: str) -> "subprocess.Popen[bytes]":
        """Start a worker of two children."""
        return self._celery("worker", "--pool=prefork", "--concurrency=2", "--loglevel=WARNING", **patches)

    def beat(self, number: int = 0, **patches: str) -> "subprocess.Popen[bytes]":
        """Start a beat; a second one needs a schedule file of its own."""
        return self._celery(
            "beat", "--loglevel=INFO", f"--schedule={self.place.var / f'beat-{number}'}", "--pidfile=", **patches
        )

    def _celery(self, what: str, *options: str, **patches: str) -> "subprocess.Popen[bytes]":
        return self.place.start(what, "-m", "celery", "-A", "tests.faults.patched", what, *options, **patches)

    def load(self, seed: int, clients: int = 5) -> Load:
        """Clients that write to it."""
        return Load(self.world, f"http://127.0.0.1:{self.port}", seed, clients)

    def due(self) -> int:
        """How many messages wait though their time has come."""
        return int(
            self._one(
                "SELECT count(*) FROM gearlife_outboxmessage WHERE done_at IS NULL AND dead_at IS NULL"
                " AND not_before <= now()"
            )
        )

    def all_done(self, seconds: float = 60.0) -> float:
        """Wait until workers have done what was due; after how many seconds."""
        began = monotonic()
        wait_for(lambda: self.due() == 0, "the work that waits is done", seconds)
        return round(monotonic() - began, 1)

    def _one(self, question: str) -> Any:
        with psycopg.connect(self.place.environment["GEARLIFE_DATABASE_URL"]) as connection:
            row = connection.execute(question.encode()).fetchone()
            return row[0] if row else None

    def check(self, load: Load) -> dict[str, Any]:
        """End everything and compare."""
        self.place.kill_all()
        assert not self.place.alive()
        return check(self.place, self.before, load)
