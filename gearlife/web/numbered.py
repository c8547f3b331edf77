"""Long lists in numbered pages, with the query of the address kept: page 2 of the same filter."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.http import QueryDict

PAGE = "page"
NUMBER = re.compile(r"[0-9]{1,9}")


@dataclass(frozen=True)
class Numbered:
    """Which page this is, of how many, how many rows there are in all, and the queries of the pages beside it."""

    number: int
    pages: int
    count: int
    earlier: str | None
    later: str | None


def numbered(count: int, query: QueryDict, size: int) -> tuple[Numbered, slice]:
    """The page that the query asks for, and which rows are on it; past the end it is the last one."""
    pages = max(1, -(-count // size))
    asked = query.get(PAGE, "1")
    number = min(max(int(asked), 1), pages) if NUMBER.fullmatch(asked) else 1
    beside = {step: _query(query, number + step) if 1 <= number + step <= pages else None for step in (-1, 1)}
    first = (number - 1) * size
    return Numbered(number, pages, count, beside[-1], beside[1]), slice(first, first + size)


def page_of(rows: "QuerySet[Any, Any]", query: QueryDict, size: int) -> tuple[Numbered, Sequence[Any]]:
    """The page and its rows, in two queries."""
    page, place = numbered(rows.order_by().count(), query, size)
    return page, list(rows[place])


def _query(query: QueryDict, number: int) -> str:
    kept = query.copy()
    kept[PAGE] = str(number)
    return f"?{kept.urlencode()}"
