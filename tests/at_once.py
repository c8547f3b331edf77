"""Acts in as many threads, each with a connection of its own, none before all are ready."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.db import connection

from gearlife.domain.errors import ConflictError

PATIENCE_SECONDS = 30


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """What each act gave; an error of any is raised."""
    barrier = Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        try:
            barrier.wait(PATIENCE_SECONDS)
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def told_at_once(*acts: Callable[[], object]) -> list[str]:
    """What became of each: done, or the code of its refusal; any other error is raised."""
    return at_once(*((lambda act=act: _told(act)) for act in acts))


def _told(act: Callable[[], object]) -> str:
    try:
        act()
    except ConflictError as refused:
        return refused.code
    return "done"
