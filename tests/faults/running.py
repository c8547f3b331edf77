"""Start and end the system's processes as a machine does, and see that none is left."""

import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from time import monotonic, sleep
from typing import Any, TypeVar

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 60.0
Answer = TypeVar("Answer")


def wait_for(question: Callable[[], Answer], what: str, seconds: float = PATIENCE_SECONDS) -> Answer:
    """Ask until the answer is true."""
    end = monotonic() + seconds
    while not (answer := question()):
        assert monotonic() < end, f"waited {seconds} s in vain: {what}"
        sleep(0.05)
    return answer


def free_port() -> int:
    """A port of this machine that nobody has."""
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        port: int = asked.getsockname()[1]
        return port


def answers(port: int) -> bool:
    """Whether somebody listens."""
    with socket.socket() as asked:
        asked.settimeout(1)
        return asked.connect_ex(("127.0.0.1", port)) == 0


def ready(port: int) -> bool:
    """Whether the program itself answers, and not only its open port."""
    connection = HTTPConnection("127.0.0.1", port, timeout=PATIENCE_SECONDS)
    try:
        connection.request("GET", "/api/v1/health/ready/")
        return connection.getresponse().status == 200
    except (OSError, HTTPException):
        return False
    finally:
        connection.close()


class Place:
    """A folder of the test's own; whatever is started here carries its name in the environment, and is found by it."""

    def __init__(self, folder: Path, **environment: str) -> None:
        """Take the folder; nothing is started."""
        self.folder = folder
        self.var = folder / "var"
        self.var.mkdir(parents=True, exist_ok=True)
        self._mark = f"GEARLIFE_VAR_DIR={self.var}".encode()
        kept = {name: value for name, value in os.environ.items() if not name.startswith("GEARLIFE_")}
        self.environment = kept | {"GEARLIFE_VAR_DIR": str(self.var)} | environment
        self._started: list[subprocess.Popen[bytes]] = []

    def start(self, name: str, *command: str, **environment: str) -> "subprocess.Popen[bytes]":
        """Start a Python program in a group of its own; what it says goes into `NAME.log`."""
        with (self.folder / f"{name}.log").open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, *command],
                cwd=ROOT,
                env=self.environment | environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                process_group=0,
            )
        self._started.append(process)
        return process

    def inside(self, what: str) -> dict[str, Any]:
        """Ask the system's own data."""
        done = subprocess.run(
            [sys.executable, "-m", "tests.faults.inside", what],
            cwd=ROOT,
            env=self.environment,
            timeout=180,
            capture_output=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        answer: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
        return answer

    def log(self, name: str) -> str:
        """What a program has said."""
        return (self.folder / f"{name}.log").read_text(errors="replace")

    def alive(self) -> list[int]:
        """Every process that was started here, by us or by what we started, and has not ended."""
        return [int(entry.name) for entry in Path("/proc").glob("[0-9]*") if self._is_ours(entry)]

    def kill_all(self) -> None:
        """Kill whatever is still there, by id."""
        for pid in self.alive():
            kill(pid)
        for process in self._started:
            process.wait(PATIENCE_SECONDS)

    def _is_ours(self, entry: Path) -> bool:
        try:
            ended = (entry / "stat").read_text().rpartition(")")[2].split()[0] == "Z"
            return not ended and self._mark in (entry / "environ").read_bytes().split(b"\0")
        except OSError:
            return False  # it has ended meanwhile, or is somebody else's


def children(pid: int) -> list[int]:
    """The processes that a process has started."""
    try:
        tasks = Path(f"/proc/{pid}/task").glob("*/children")
        return [int(child) for task in tasks for child in task.read_text().split()]
    except OSError:
        return []


def kill(pid: int) -> None:
    """SIGKILL, where it has not ended meanwhile."""
    try:
        os.kill(pid, signal.SIGKILL)
    except ProcessLookupError:
        return
