"""Questions that the ORM compiles once: asked again, only the values are new.

Compiling a query costs several times what a small database needs to answer it. A statement is built from an ordinary
queryset in which `Given` stands for each value that is known only when it is asked.
"""

import json
from collections.abc import Callable, Collection, Iterable
from functools import wraps
from typing import Any
from uuid import UUID

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import DateField, DateTimeField, Expression, Field, QuerySet, TextField, UUIDField
from django.db.models.query import get_related_populators
from django.db.models.sql.compiler import SQLCompiler

Row = dict[str, Any]
Values = tuple[Any, ...]


class Given(Expression):
    """A value that is handed over when the statement is asked."""

    def __init__(self, name: str, output_field: "Field[Any, Any]") -> None:
        """Name it; the field says how the database takes it."""
        super().__init__(output_field)
        self.name = name

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, Any]:  # noqa: ANN401, ARG002 - Django's own
        """A mark in the text, and this very object among the parameters, to be replaced by the value."""
        return "%s", [self]

    def parameter(self, value: Any) -> Any:  # noqa: ANN401 - as the field takes it
        """The value as the database's driver takes it."""
        return self.output_field.get_db_prep_value(value, connection)


class GivenIds(Given):
    """Any number of ids under one mark, so that the text of the statement does not grow with them."""

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, Any]:  # noqa: ANN401, ARG002 - Django's own
        """The ids as rows of a JSON text."""
        return "(SELECT value FROM json_each(%s))", [self]

    def as_postgresql(self, compiler: Any, connection: Any) -> tuple[str, Any]:  # noqa: ANN401, ARG002 - Django's own
        """The ids as rows of an array."""
        return "(SELECT unnest(%s::uuid[]))", [self]

    def parameter(self, value: Collection[UUID]) -> Any:  # noqa: ANN401 - one of two forms
        """All of them as one parameter."""
        if connection.vendor == "postgresql":
            return f"{{{','.join([id_.hex for id_ in value])}}}"  # the array's text: its driver writes ids one by one
        return json.dumps([id_.hex for id_ in value])


def day(name: str) -> Any:  # noqa: ANN401 - it stands where a day stands
    """A day that is given when asked."""
    return Given(name, DateField())


def moment(name: str) -> Any:  # noqa: ANN401 - as above
    """An aware moment that is given when asked."""
    return Given(name, DateTimeField())


def text(name: str) -> Any:  # noqa: ANN401 - as above
    """A text that is given when asked."""
    return Given(name, TextField())


def one_id(name: str) -> Any:  # noqa: ANN401 - as above
    """An id that is given when asked."""
    return Given(name, UUIDField())


def ids(name: str) -> Any:  # noqa: ANN401 - as above
    """Ids that are given when asked: the right side of an `__in`."""
    return GivenIds(name, UUIDField())


class Statement:
    """A compiled queryset: rows, values or objects, as it was built for."""

    def __init__(self, rows: QuerySet[Any, Any]) -> None:
        """Compile it for the database in use."""
        compiler = rows.query.get_compiler(connection=connection)
        self._names = tuple(rows.query.selected or ())
        self._objects: Objects | None = None
        try:
            self._sql, self._params = compiler.as_sql()
        except EmptyResultSet:
            self._sql = ""
            return
        columns = [column for column, *_ in compiler.select[: compiler.col_count]]
        self._converters = [(at, *how) for at, how in compiler.get_converters(columns).items()]
        if compiler.klass_info:
            self._objects = Objects(compiler)

    def rows(self, **given: Any) -> list[Row]:
        """The rows by column name."""
        return [dict(zip(self._names, row, strict=True)) for row in self.values(**given)]

    def values(self, **given: Any) -> Iterable[Values]:
        """The rows as tuples, in the order in which the columns were asked for."""
        if not self._sql:
            return []
        params = [each.parameter(given[each.name]) if isinstance(each, Given) else each for each in self._params]
        with connection.cursor() as cursor:
            cursor.execute(self._sql, params)
            found = cursor.fetchall()
        return self._converted(found) if self._converters else found

    def instances(self, **given: Any) -> list[Any]:
        """The rows as objects of the queryset's model, with what is fetched along by `select_related`."""
        return [self._objects.made(row) for row in self.values(**given)] if self._objects else []

    def _converted(self, found: Iterable[Values]) -> Iterable[Values]:
        """The values as Python has them, as the ORM converts them."""
        columns = [list(column) for column in zip(*found, strict=True)]
        if not columns:
            return []
        for at, converters, expression in self._converters:
            for convert in converters:
                columns[at] = _each(columns[at], convert, expression)
        return zip(*columns, strict=True)


def _each(column: list[Any], convert: Callable[..., Any], expression: Expression) -> list[Any]:
    """Each value converted; ids and days recur from row to row, and nobody can change them, so each is made once."""
    if not isinstance(expression.output_field, UUIDField | DateField):
        return [convert(value, expression, connection) for value in column]
    made = {value: convert(value, expression, connection) for value in set(column)}
    return [made[value] for value in column]


class Objects:
    """Makes objects of rows, as a queryset of objects does."""

    def __init__(self, compiler: SQLCompiler) -> None:
        """Take over which columns belong to which object."""
        info, select = compiler.klass_info, compiler.select
        first, last = info["select_fields"][0], info["select_fields"][-1] + 1
        self._model, self._columns = info["model"], slice(first, last)
        self._names = [expression.target.attname for expression, *_ in select[first:last]]
        self._related = get_related_populators(info, select, connection.alias)  # type: ignore[call-arg] # newer stubs

    def made(self, row: Values) -> Any:  # noqa: ANN401 - an object of the model
        """The object, and those that it is to have beside it."""
        made = self._model.from_db(connection.alias, self._names, row[self._columns])
        for related in self._related:
            related.populate(row, made)
        return made


def compiled(build: Callable[[], QuerySet[Any, Any]]) -> Callable[[], Statement]:
    """Make a function that builds a queryset give its statement, compiled once for each kind of database."""
    statements: dict[str, Statement] = {}

    @wraps(build)
    def statement() -> Statement:
        known = statements.get(connection.vendor)
        if known is None:
            known = statements[connection.vendor] = Statement(build())
        return known

    return statement
