"""The embedded default's processes: pages and API by waitress and the schedule in this one, the worker in a child.

Without Redis the broker is a folder; every message is only a wake-up, so a lost one costs a moment and nothing else.
"""

import ctypes
import logging
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from types import FrameType
from typing import Any

from celery import Celery, current_app
from celery.beat import EmbeddedService
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from waitress import create_server

logger = logging.getLogger(__name__)

PARENT_DEATH_SIGNAL = 1  # prctl(2): PR_SET_PDEATHSIG
PORTS_TRIED = 50
RESTART_PAUSE = 1.0
STOP_PATIENCE = 10.0
WEB_THREADS = 3


class Stopped(Exception):
    """SIGINT or SIGTERM was received."""


def run(*, host: str, port: int, announce: Callable[[str], Iterable[str]]) -> None:
    """Serve until SIGINT or SIGTERM, then stop everything; what `announce` says is printed before the port opens."""
    for name in (signal.SIGINT, signal.SIGTERM):
        # Installed explicitly: shells start background jobs with SIGINT ignored.
        signal.signal(name, _stop)
    place = _bound_socket(host, port)
    address = f"http://{host}:{place.getsockname()[1]}"
    make_folders()
    worker = Worker()
    beat = EmbeddedService(_celery(), thread=True)
    try:
        for line in announce(address):
            print(line, flush=True)  # noqa: T201 - the command's answer
        worker.start()
        beat.start()
        create_server(get_wsgi_application(), sockets=[place], threads=WEB_THREADS, **_limits()).run()
    except Stopped:
        pass
    finally:
        beat.stop()
        worker.stop()


def make_folders() -> None:
    """The folders that the embedded broker and the schedule write to."""
    for folder in (settings.VAR_DIR, settings.BROKER_DIR / "messages", settings.BROKER_DIR / "control"):
        Path(folder).mkdir(parents=True, exist_ok=True)


class Worker:
    """A Celery worker in a child process, started again whenever it ends by itself."""

    # Celery warns of root at every start; the worker runs nothing that it is sent from outside.
    python = (sys.executable, "-W", "ignore:You're running the worker with superuser")
    command = (*python, "-m", "celery", "-q", "-A", "gearlife.config", "worker", "--pool=solo", "-l", "WARNING")

    def __init__(self) -> None:
        self.process: subprocess.Popen[bytes] | None = None
        self.stopping = threading.Event()
        self.keeper = threading.Thread(target=self._keep, daemon=True)

    def start(self) -> None:
        """Start it, and a thread that watches it."""
        self.keeper.start()

    def stop(self) -> None:
        """Ask it to finish; kill it when it does not."""
        self.stopping.set()
        if self.keeper.is_alive():
            self.keeper.join(STOP_PATIENCE)

    def _keep(self) -> None:
        while not self.stopping.is_set():
            # A group of its own, so that Ctrl-C reaches the parent only; SIGTERM when the parent dies.
            self.process = subprocess.Popen(  # noqa: S603 - our own interpreter
                self.command, process_group=0, preexec_fn=_end_with_parent, env={**os.environ, "C_FORCE_ROOT": "1"}
            )
            while self.process.poll() is None:
                if self.stopping.wait(0.2):
                    _finish(self.process)
            if not self.stopping.wait(RESTART_PAUSE):
                logger.warning("the worker ended and is started again")


def _finish(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(STOP_PATIENCE / 2)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _end_with_parent() -> None:
    """Let the kernel end this child when its parent is killed; on Linux only, elsewhere Ctrl-C is the way."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PARENT_DEATH_SIGNAL, signal.SIGTERM)


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise Stopped


def _bound_socket(host: str, port: int) -> socket.socket:
    """A socket on this port, or on the next one that is free; bound and not yet listening."""
    for candidate in range(port, port + PORTS_TRIED):
        place = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            place.bind((host, candidate))
        except OSError:
            place.close()
            continue
        return place
    raise OSError(f"no free port between {port} and {port + PORTS_TRIED}")


def _celery() -> Celery:
    app: Celery = current_app._get_current_object()  # noqa: SLF001 - the proxy's documented way to the app
    return app


def _limits() -> dict[str, Any]:
    return {"max_request_body_size": settings.UPLOAD_MAX_BYTES + settings.DATA_UPLOAD_MAX_MEMORY_SIZE}
