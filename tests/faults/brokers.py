"""A Redis of the test's own, and one that accepts and says nothing."""

import shutil
import signal
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from types import TracebackType
from typing import Self

from redis import Redis

from tests.faults.running import answers, free_port, wait_for


def redis_server() -> str:
    """The program; an error where there is none, for a fault test without it would show nothing."""
    found = shutil.which("redis-server")
    assert found, "redis-server cannot be had"
    return found


class Broker:
    """A real Redis without persistence, at a port of its own."""

    def __init__(self, folder: Path) -> None:
        """Choose the port; nothing is started."""
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self._folder = folder
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.kill()

    def start(self) -> None:
        """Start it, empty."""
        command = [redis_server(), "--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
        self._process = subprocess.Popen([*command, "--dir", str(self._folder)], stdout=subprocess.DEVNULL)
        wait_for(lambda: answers(self.port), "Redis answers")

    def kill(self) -> None:
        """Kill -9; what it held is lost."""
        if self._process:
            self._process.send_signal(signal.SIGKILL)
            self._process.wait(10)
            self._process = None

    def flush(self) -> None:
        """Forget everything."""
        with Redis(port=self.port) as client:
            client.flushall()


@contextmanager
def silent(port: int) -> Iterator[None]:
    """A server that accepts every connection and never says a word."""
    kept: list[socket.socket] = []
    with socket.create_server(("127.0.0.1", port)) as server:
        server.settimeout(0.2)
        open_ = True

        def accept() -> None:
            while open_:
                try:
                    kept.append(server.accept()[0])
                except TimeoutError:
                    continue

        thread = Thread(target=accept, daemon=True)
        thread.start()
        try:
            yield
        finally:
            open_ = False
            thread.join(5)
            for connection in kept:
                connection.close()
