"""Days of rows as numbers, inside one statement and alike on both databases."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db.models import F, Func, IntegerField
from django.db.models.functions import ExtractYear


class Band(Func):
    """Which of some marks, that go back in time, is the first that a day lies after: less one; null stays null.

    With `year_marks` these are whole years: -1 after the first mark, 0 after the second, and so on. Written at once as
    one CASE: a hundred of the ORM's own conditions take longer to compile than the database needs to answer.
    """

    output_field = IntegerField()

    def __init__(self, column: str, marks: Sequence[date]) -> None:
        """Name the column, and the marks from the latest to the earliest."""
        super().__init__(F(column))
        self.marks = tuple(marks)

    def as_sql(self, compiler: Any, connection: Any, *_: Any, **__: Any) -> tuple[str, Any]:  # noqa: ANN401 - Django's own
        """The CASE: the first mark that the day lies after says its number."""
        column, given = compiler.compile(self.source_expressions[0])
        arms = " ".join(f"WHEN {column} > %s THEN {number - 1}" for number in range(len(self.marks)))
        days = [connection.ops.adapt_datefield_value(mark) for mark in self.marks]
        params = [each for day in days for each in (*given, day)]
        sql = f"CASE WHEN {column} IS NULL THEN NULL {arms} ELSE {len(self.marks) - 1} END"
        return sql, [*given, *params]


class CalendarYear(ExtractYear):
    """The year of a day; on SQLite read from its text, for Django's own way calls back into Python for each row."""

    def as_sqlite(self, compiler: Any, connection: Any, **_: Any) -> tuple[str, Any]:  # noqa: ANN401, ARG002 - Django's own
        """The first four characters."""
        column, given = compiler.compile(self.lhs)
        return f"CAST(SUBSTR({column}, 1, 4) AS INTEGER)", given
