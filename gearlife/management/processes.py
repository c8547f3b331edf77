"""The embedded default's processes: pages and API by waitress and the schedule in this one, the worker in a child.

Without Redis the broker is a folder; every message is only a wake-up, so a lost one costs a moment and nothing else.
"""

import logging
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from threading import Event, Thread
from time import monotonic
from types import FrameType

from celery import current_app
from celery.beat import Scheduler, Service
from django.conf import settings
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.utils import timezone
from waitress.server import create_server

from gearlife.operations.sweep import sweep_for_the_day

HOST = "127.0.0.1"
PORT = 8000
PORTS_TRIED = 50
WEB_THREADS = 3  # more only starve each other on SQLite
# Beyond this the server itself refuses, in plain text; up to it the program answers with a problem document.
BODY_MAX_BYTES = 128 * 1024 * 1024
STOP_SECONDS = 8.0
LOOK_SECONDS = 0.5
REST_SECONDS_MAX = 30.0

logger = logging.getLogger(__name__)


def run(
    *,
    host: str,
    port: int,
    announce: Callable[[str], Iterable[str]],
    before_open: Callable[[], None] = lambda: None,
) -> None:
    """Bring the data up to date and serve until SIGINT or SIGTERM, then stop everything that was started.

    Args:
        host: address to listen on.
        port: where to listen, or on the next free port.
        announce: address in, lines out; printed when the port is taken and not yet open.
        before_open: what else must be done before that, on an up-to-date database; a signal ends it too.

    Raises:
        OSError: No port is free.
    """
    with _until_signal(), ExitStack() as everything:
        reserved = everything.enter_context(reserve(host, port))
        prepare()
        before_open()
        sweep_for_the_day(at=timezone.now())
        everything.enter_context(_worker())
        everything.enter_context(_schedule())
        address = f"http://{host}:{reserved.getsockname()[1]}"
        print(*announce(address), sep="\n", flush=True)  # noqa: T201 - the command's answer
        connections.close_all()  # from here on this thread reads no record
        _serve(reserved)


def prepare() -> None:
    """Make the folders of the data and of the embedded broker, and bring the database up to date."""
    for folder in (settings.VAR_DIR, settings.BROKER_DIR / "messages", settings.BROKER_DIR / "control"):
        Path(folder).mkdir(parents=True, exist_ok=True)
    call_command("migrate", verbosity=0)


def reserve(host: str, port: int) -> socket.socket:
    """Bind the port, or the next free one, without opening it; port 0 is any free one.

    Raises:
        OSError: None of the ports tried is free.
    """
    for candidate in range(port, port + PORTS_TRIED):
        # The exclusive way first: with SO_REUSEADDR two programs that start at once could bind the same port.
        # That way alone would also refuse a port that was left a moment ago.
        for reuse in (0, 1):
            reserved = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
            reserved.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, reuse)
            try:
                reserved.bind((host, candidate))
            except OSError:
                reserved.close()
            else:
                return reserved
    raise OSError(f"no port between {port} and {port + PORTS_TRIED - 1} is free on {host}")


class WorkerKeeper(Thread):
    """Starts a Celery worker, starts it again when it ends, and ends it."""

    command = (
        *(sys.executable, "-m", "gearlife.management.lifeline", "--quiet", "--app=gearlife.config", "worker"),
        *("--pool=solo", "--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel=WARNING"),
    )

    def __init__(self) -> None:
        """Start nothing yet."""
        super().__init__(name="worker keeper", daemon=True)
        self._ended = Event()
        self._rest_seconds = LOOK_SECONDS

    def run(self) -> None:
        """Look after the worker until `stop`."""
        while not self._ended.is_set():
            began = monotonic()
            # A group of its own: Ctrl-C in the terminal reaches us alone, and we end the worker in order.
            with subprocess.Popen(  # noqa: S603 - our own interpreter
                self.command, stdin=subprocess.PIPE, process_group=0, cwd=settings.BASE_DIR
            ) as worker:
                self._watch(worker)
            if not self._ended.is_set():
                logger.error("the worker ended with code %s and is started again", worker.returncode)
                self._rest(monotonic() - began)

    def stop(self) -> None:
        """Let the worker be ended; `join` waits for it."""
        self._ended.set()

    def _watch(self, worker: "subprocess.Popen[bytes]") -> None:
        while worker.poll() is None:
            if self._ended.wait(LOOK_SECONDS):
                _end(worker)

    def _rest(self, lived_seconds: float) -> None:
        """Wait longer each time when workers die young, so that a broken one does not eat the machine."""
        died_young = lived_seconds < REST_SECONDS_MAX
        self._rest_seconds = min(2 * self._rest_seconds, REST_SECONDS_MAX) if died_young else LOOK_SECONDS
        self._ended.wait(self._rest_seconds)


def _end(worker: "subprocess.Popen[bytes]") -> None:
    """Let the worker finish its task, for some seconds."""
    worker.terminate()
    try:
        worker.wait(STOP_SECONDS)
    except subprocess.TimeoutExpired:
        logger.warning("the worker was still busy and was killed; what it had not committed is undone")
        os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()


@contextmanager
def _worker() -> Iterator[None]:
    keeper = WorkerKeeper()
    keeper.start()
    try:
        yield
    finally:
        keeper.stop()
        keeper.join()


@contextmanager
def _schedule() -> Iterator[None]:
    """The schedule, without a file: what a machine missed is asked at its start and every ten minutes."""
    beat = Service(current_app, max_interval=1, scheduler_cls=Scheduler)
    thread = Thread(target=beat.start, name="schedule", daemon=True)
    thread.start()
    try:
        yield
    finally:
        beat.stop()
        thread.join(STOP_SECONDS)


@contextmanager
def _until_signal() -> Iterator[None]:
    """End the block at the first SIGINT or SIGTERM; further ones change nothing.

    Both are installed explicitly: shells start background jobs with SIGINT ignored. KeyboardInterrupt, because nothing
    on the way swallows it, the server's loop and a transaction under way included.
    """
    stopping = Event()

    def stop(number: int, frame: FrameType | None) -> None:  # noqa: ARG001 - as `signal` calls it
        if not stopping.is_set():
            stopping.set()
            raise KeyboardInterrupt

    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    except KeyboardInterrupt:
        logger.info("stopped")
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _serve(reserved: socket.socket) -> None:
    """Open the port and answer until a signal comes; requests under way are finished."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # one browser alone fills three threads
    server = create_server(
        get_wsgi_application(),
        sockets=[reserved],
        threads=WEB_THREADS,
        max_request_body_size=BODY_MAX_BYTES,
        asyncore_use_poll=True,
        clear_untrusted_proxy_headers=not settings.PROXIES,  # else the program itself reads what its proxies wrote
    )
    server.run()
