"""The WSGI application, killed between a commit and the wake-up's publish where `VAR/die` says so, once each."""

import os
import signal
from pathlib import Path

from gearlife.config.wsgi import application
from gearlife.operations import waiting

__all__ = ["application"]
DIE = Path(os.environ["GEARLIFE_VAR_DIR"]) / "die"
send = waiting._send


def die_or_send() -> None:
    """Die before anything is published."""
    try:
        DIE.unlink()
    except FileNotFoundError:
        send()
    else:
        os.kill(os.getpid(), signal.SIGKILL)


waiting._send = die_or_send
