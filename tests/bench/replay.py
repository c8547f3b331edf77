"""The statements that a request asked of the database, asked again by hand of the driver: nothing else is done.

Ids that the request made are made anew each time, and the ledger's place goes up, so that every statement finds and
writes as much as it did the first time.
"""

from collections.abc import Callable, Sequence
from contextlib import closing
from typing import Any
from uuid import UUID

from django.db import connection

Statement = tuple[str, Any]
WRITES = ("INSERT", "UPDATE", "DELETE", "SAVEPOINT", "RELEASE")


def captured(act: Callable[[], object]) -> list[Statement]:
    """The statements that an act asked, with their parameters."""
    asked: list[Statement] = []

    def note(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        rows = [params] if not many else list(params)
        asked.extend((sql, tuple(row or ())) for row in rows)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        act()
    return [(sql, params) for sql, params in asked if not sql.startswith("BEGIN")]


class Replay:
    """Asks the statements again, as often as wanted."""

    def __init__(self, asked: Sequence[Statement], made: UUID, size: int) -> None:
        """`made` is the id that the request made, `size` the ledger's size after it."""
        self.made, self.size, self.times = made, size, 0
        mark = "?" if connection.vendor == "sqlite" else "%s"
        self.asked = [(sql.replace("%s", mark), params) for sql, params in asked]
        writing = [n for n, (sql, _) in enumerate(self.asked) if sql.startswith(WRITES)]
        self.begins, self.ends = writing[0], writing[-1]

    def __call__(self, new: UUID) -> None:
        """All of them, those from the first write to the last in one transaction."""
        self.times += 1
        connection.ensure_connection()
        with closing(connection.connection.cursor()) as cursor:
            for n, (sql, params) in enumerate(self.asked):
                if n == self.begins:
                    cursor.execute("BEGIN IMMEDIATE" if connection.vendor == "sqlite" else "BEGIN")
                cursor.execute(sql, [self._fresh(value, new) for value in params])
                if sql.startswith("SELECT"):
                    cursor.fetchall()
                if n == self.ends:
                    cursor.execute("COMMIT")

    def _fresh(self, value: Any, new: UUID) -> Any:
        if isinstance(value, list | tuple):
            return [self._fresh(each, new) for each in value]
        if isinstance(value, UUID):
            return new if value == self.made else value
        if isinstance(value, str):
            return value.replace(self.made.hex, new.hex).replace(str(self.made), str(new))
        return value + self.times if value == self.size and isinstance(value, int) else value
