"""`manage.py serve` as a process: what it starts, what it prints, and that nothing of it is left behind."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from time import monotonic, sleep
from typing import TypeVar
from urllib.parse import urlsplit
from uuid import uuid4

import psycopg
import pytest
from django.conf import settings

from gearlife.management import processes

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 60.0
Answer = TypeVar("Answer")


@pytest.fixture
def database_url(tmp_path: Path) -> Iterator[str]:
    """An empty database of the test's own, of the kind that the suite runs on."""
    default = settings.DATABASES["default"]
    if default["ENGINE"].endswith("sqlite3"):
        yield f"sqlite:///{tmp_path / 'gearlife.sqlite3'}"
        return
    name, server = f"gearlife_serve_{uuid4().hex[:12]}", urlsplit(settings.DATABASE_URL)
    with psycopg.connect(server._replace(path="/postgres").geturl(), autocommit=True) as maintenance:
        maintenance.execute(f"CREATE DATABASE {name}".encode())
        yield server._replace(path=f"/{name}").geturl()
        maintenance.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


class Served:
    """A running `manage.py serve`, started as a shell starts a background job: with SIGINT ignored."""

    def __init__(self, folder: Path, database_url: str, port: int) -> None:
        """Start it."""
        given = {"GEARLIFE_VAR_DIR": str(folder / "var"), "GEARLIFE_DATABASE_URL": database_url}
        command = ["sh", "-c", "trap '' INT; exec \"$@\"", "sh", sys.executable, "manage.py", "serve", f"--port={port}"]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env={**os.environ, **given}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )

    def address(self) -> str:
        """The first line that it prints."""
        assert self.process.stdout
        line: str = self.process.stdout.readline()
        assert line, self.process.communicate()[1]
        return line.strip()

    def worker(self) -> int:
        """Its only child's process id."""
        return wait_for(
            lambda: next((pid for pid, parent in processes_alive().items() if parent == self.process.pid), 0)
        )


@contextmanager
def serving(folder: Path, database_url: str, port: int = 0) -> Iterator[Served]:
    """Serve during the block, and leave nothing behind whatever it does."""
    served = Served(folder, database_url, port)
    try:
        yield served
    finally:
        served.process.kill()
        served.process.communicate()


def wait_for(question: Callable[[], Answer]) -> Answer:
    """Ask until the answer is true."""
    end = monotonic() + PATIENCE_SECONDS
    while not (answer := question()):
        assert monotonic() < end, f"waited {PATIENCE_SECONDS} s in vain"
        sleep(0.05)
    return answer


def processes_alive() -> dict[int, int]:
    """Every process of the machine that has not ended, and its parent."""
    table = subprocess.run(["ps", "-A", "-o", "pid=,ppid=,stat="], capture_output=True, text=True, check=True)
    rows = [line.split() for line in table.stdout.splitlines()]
    return {int(pid): int(parent) for pid, parent, state in rows if not state.startswith("Z")}


def status_of(address: str, path: str) -> int:
    """The status of a GET; 0 when nobody listens yet."""
    connection = HTTPConnection(urlsplit(address).netloc, timeout=5)
    try:
        connection.request("GET", path)
        return connection.getresponse().status
    except ConnectionRefusedError:
        return 0
    finally:
        connection.close()


def test_ctrl_c_stops_all_of_it_with_exit_code_0(tmp_path: Path, database_url: str) -> None:
    with serving(tmp_path, database_url) as served:
        address = served.address()
        assert wait_for(lambda: status_of(address, "/api/v1/health/live/")) == 200
        assert status_of(address, "/api/v1/health/ready/") == 200
        worker = served.worker()
        began = monotonic()
        served.process.send_signal(signal.SIGINT)
        served.process.send_signal(signal.SIGINT)
        assert served.process.wait(PATIENCE_SECONDS) == 0
        assert monotonic() - began < 20
        assert not {served.process.pid, worker} & processes_alive().keys()


def test_a_killed_worker_is_replaced_and_no_worker_outlives_a_killed_server(tmp_path: Path, database_url: str) -> None:
    with serving(tmp_path, database_url) as served:
        served.address()
        first = served.worker()
        os.kill(first, signal.SIGKILL)
        wait_for(lambda: first not in processes_alive())
        second = served.worker()
        served.process.kill()
        wait_for(lambda: second not in processes_alive())


def test_a_taken_port_gives_way_to_the_next_free_one() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken, processes.reserve(*taken.getsockname()) as reserved:
        assert taken.getsockname()[1] < reserved.getsockname()[1] < taken.getsockname()[1] + processes.PORTS_TRIED


def test_a_reserved_port_is_not_open_and_nobody_else_gets_it() -> None:
    with processes.reserve("127.0.0.1", 0) as first:
        port = first.getsockname()[1]
        assert status_of(f"http://127.0.0.1:{port}", "/") == 0
        with processes.reserve("127.0.0.1", port) as second:
            assert second.getsockname()[1] > port
