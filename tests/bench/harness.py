"""What every bench needs: a database of its own, the embedded default's server, competitors timed in turns.

Only ratios of one run mean anything: the machine's speed swings, and all competitors swing with it.
"""

import json
import logging
import os
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from threading import Thread
from time import perf_counter
from typing import Any

import django

CLOSE = "/close"
Wsgi = Callable[..., Any]


def run(measure: Callable[[], Mapping[str, object]]) -> None:
    """Measure on a temporary database of the kind that the settings name, and print one line of JSON."""
    with tempfile.TemporaryDirectory() as var:
        os.environ["GEARLIFE_VAR_DIR"] = var
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gearlife.config.settings")
        django.setup()
        with temporary_database():
            sys.stdout.write(json.dumps({"database": django.db.connection.vendor, **measure()}) + "\n")


@contextmanager
def temporary_database() -> Iterator[None]:
    """A database that is gone afterwards."""
    from django.db import connection

    with tempfile.TemporaryDirectory() as folder:
        name = str(Path(folder) / "bench.sqlite3") if connection.vendor == "sqlite" else f"gearlife_bench_{os.getpid()}"
        connection.settings_dict.setdefault("TEST", {})["NAME"] = name
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            yield
        finally:
            connection.creation.destroy_test_db(name, verbosity=0)


@contextmanager
def served(app: Wsgi) -> Iterator["Client"]:
    """The application behind the embedded default's own server, and a client with one kept connection."""
    from waitress.server import create_server

    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    server = create_server(_closing(app), host="127.0.0.1", port=0, threads=1)
    Thread(target=server.run, daemon=True).start()  # it ends with the process
    client = Client(server.effective_port)
    try:
        yield client
    finally:
        client("GET", CLOSE)
        client.connection.close()


def _closing(app: Wsgi) -> Wsgi:
    """The application, and an address that lets go of the database, which could not be dropped else."""
    from django.db import connections

    def answer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        if environ["PATH_INFO"] != CLOSE:
            return app(environ, start_response)
        connections.close_all()
        start_response("204 No Content", [])
        return []

    return answer


class Client:
    """Sends requests to one address of this machine, one after the other."""

    def __init__(self, port: int) -> None:
        self.connection = HTTPConnection("127.0.0.1", port)
        self.token = ""

    def __call__(self, method: str, path: str, body: object = None) -> tuple[int, bytes]:
        """Status and body."""
        headers = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json"}
        self.connection.request(method, path, None if body is None else json.dumps(body), headers)
        answer = self.connection.getresponse()
        return answer.status, answer.read()


def in_turns(competitors: Mapping[str, Callable[[], object]], rounds: int, warm_up: int = 10) -> dict[str, float]:
    """The median of each competitor's seconds; they take turns, so that none has a quieter machine."""
    for act in competitors.values():
        for _ in range(warm_up):
            act()
    seconds: dict[str, list[float]] = {name: [] for name in competitors}
    for _ in range(rounds):
        for name, act in competitors.items():
            began = perf_counter()
            act()
            seconds[name].append(perf_counter() - began)
    return {name: statistics.median(each) for name, each in seconds.items()}


def milliseconds(seconds: Mapping[str, float]) -> dict[str, float]:
    """For reading; the ratios say more."""
    return {f"{name}_ms": round(1000 * value, 3) for name, value in seconds.items()}
