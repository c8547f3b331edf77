"""Work that waits in the database, and the wake-ups that let it be done soon.

A wake-up is a hint that may be lost, doubled or late: the rows are the truth, and the schedule asks for them as well.
"""

import logging
from collections.abc import Callable
from datetime import datetime
from time import monotonic

from celery import current_app
from django.db import transaction

Work = Callable[[datetime], object]

TASK = "gearlife.do_what_waits"
# A broker that does not answer costs one request its time-out; the next ones are spared until this has passed.
SPARED_SECONDS = 30.0

logger = logging.getLogger(__name__)
_kinds: dict[str, Work] = {}
_silent_until = 0.0


def register_work(**kinds: Work) -> None:
    """Name what can wait: each kind looks for its own rows, does them, and may be asked twice or at once."""
    _kinds.update(kinds)


def do_what_waits(at: datetime) -> list[str]:
    """Do all kinds of waiting work; the kinds that failed, by name: none keeps the others from being done."""
    return [name for name, work in _kinds.items() if not _done(name, work, at)]


def wake() -> None:
    """Once the transaction is committed, ask a worker to look for waiting work. It never fails the act."""
    transaction.on_commit(_send, robust=True)


def _done(name: str, work: Work, at: datetime) -> bool:
    try:
        work(at)
    except Exception:
        logger.exception("the waiting work `%s` failed and is asked for again", name)
        return False
    return True


def _send() -> None:
    global _silent_until  # noqa: PLW0603 - one broker a process
    if monotonic() < _silent_until:
        return
    try:
        current_app.send_task(TASK, ignore_result=True)
    except Exception:
        _silent_until = monotonic() + SPARED_SECONDS
        logger.warning("no wake-up was sent; the schedule finds the work", exc_info=True)
