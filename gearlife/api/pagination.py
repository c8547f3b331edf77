"""Cursor pages: a place in an order, never a count; rows added meanwhile are neither skipped nor doubled."""

import base64
import binascii
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import F, Q, QuerySet
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gearlife.domain.errors import InvalidInputError
from gearlife.models.compiled import Given, Statement

USUAL_SIZE = 50
LARGEST_SIZE = 200
PARAMETERS = frozenset({"cursor", "page_size"})
KEY = "cursor_key_"


@dataclass(frozen=True)
class Cursor:
    """A place between two rows: the order's values of the row beside it, and which way to go on."""

    back: bool
    values: tuple[str, ...]

    def __str__(self) -> str:
        text = json.dumps([int(self.back), *self.values], separators=(",", ":"))
        return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")

    @classmethod
    def parse(cls, text: str) -> "Cursor":
        """Read what `str` wrote; InvalidInputError for anything else."""
        try:
            back, *values = json.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)))
        except (ValueError, TypeError, binascii.Error, RecursionError):
            raise _broken() from None
        if not all(isinstance(value, str) and value.isprintable() for value in values):
            raise _broken()
        return cls(bool(back), tuple(values))


@dataclass(frozen=True)
class Term:
    """One column of the order."""

    column: str
    descending: bool

    def ordered(self, *, back: bool) -> Any:  # noqa: ANN401 - an OrderBy, which the stubs keep private
        """The ORDER BY term."""
        return F(self.column).desc() if self.descending != back else F(self.column).asc()

    def beyond(self, value: object, *, back: bool) -> Q:
        """What comes after a value in the direction of travel."""
        return Q((f"{self.column}__{'lt' if self.descending != back else 'gt'}", value))


@dataclass(frozen=True)
class Page:
    """A compiled page of a list, and the columns of its order: what a cursor holds is read by them."""

    statement: Statement
    fields: tuple[Any, ...]


class KeysetPagination(BasePagination):
    """Pages by the view's `ordering` (columns that are never null) with the id as the last word."""

    def begin(self, request: Request, ordering: Sequence[str]) -> None:
        """Read what is asked for; InvalidInputError for a broken cursor or size."""
        self.request = request
        self.size = _page_size(request)
        self.cursor = Cursor.parse(request.query_params["cursor"]) if "cursor" in request.query_params else None
        self.back = self.cursor is not None and self.cursor.back
        self.terms = terms_of(ordering)

    @property
    def form(self) -> tuple[object, ...]:
        """What the compiled page depends on, beside the list itself."""
        return self.size, self.back, self.cursor is not None

    def compiled(self, rows: QuerySet[Any, Any]) -> Page:
        """Compile this form of a page of a `values()` queryset."""
        fields = tuple(_field(rows, term.column) for term in self.terms)
        if self.cursor:
            rows = rows.filter(_beyond(self.terms, fields, back=self.back))
        keyed = rows.annotate(**{f"{KEY}{n}": F(term.column) for n, term in enumerate(self.terms)})
        ordered = keyed.order_by(*(term.ordered(back=self.back) for term in self.terms))
        return Page(Statement(ordered[: self.size + 1]), fields)

    def ask(self, page: Page, **values: object) -> list[Any]:
        """The rows of the page; where it begins is read from the cursor."""
        rows = page.statement.rows(**values, **self._beside(page))
        more, rows = len(rows) > self.size, rows[: self.size]
        if self.back:
            rows.reverse()
        self.next = self._place(rows[-1]) if rows and (more or self.back) else None
        self.previous = self._place(rows[0]) if rows and (more if self.back else self.cursor) else None
        for n in range(len(self.terms)):
            for row in rows:
                del row[f"{KEY}{n}"]
        return rows

    def _place(self, row: Mapping[str, object]) -> tuple[str, ...]:
        """The order's values of a row, as a cursor keeps them."""
        return tuple(str(row[f"{KEY}{n}"]) for n in range(len(self.terms)))

    def _beside(self, page: Page) -> dict[str, object]:
        """The order's values of the row beside which the page begins."""
        texts = self.cursor.values if self.cursor else ()
        if self.cursor and len(texts) != len(self.terms):
            raise _broken()
        return {
            f"{KEY}{n}": _read(field, text) for n, (field, text) in enumerate(zip(page.fields, texts, strict=False))
        }

    def get_paginated_response(self, data: Any) -> Response:  # noqa: ANN401 - the framework's signature
        """The page, with its neighbours in `Link` (RFC 8288)."""
        places = [("next", self.next, False), ("prev", self.previous, True)]
        links = [f'<{self._address(Cursor(back, key))}>; rel="{rel}"' for rel, key, back in places if key]
        return Response({"results": data}, headers={"Link": ", ".join(links)} if links else None)

    def _address(self, cursor: Cursor) -> str:
        asked = self.request.query_params.copy()
        asked["cursor"] = str(cursor)
        return self.request.build_absolute_uri(f"{self.request.path}?{asked.urlencode()}")

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """The page in the OpenAPI document."""
        return {"type": "object", "required": ["results"], "properties": {"results": schema}}

    def get_schema_operation_parameters(self, view: APIView) -> list[dict[str, Any]]:
        """The two query parameters in the OpenAPI document."""
        size = {"type": "integer", "minimum": 1, "maximum": LARGEST_SIZE, "default": USUAL_SIZE}
        return [
            {
                "name": "cursor",
                "in": "query",
                "schema": {"type": "string", "pattern": "^[A-Za-z0-9_-]+$"},
                "description": "A place in the list; follow the `Link` header, never make one.",
            },
            {"name": "page_size", "in": "query", "schema": size},
        ]


def terms_of(ordering: Sequence[str]) -> list[Term]:
    """The order's terms; the id is appended where it is missing."""
    terms = [Term(name.removeprefix("-"), name.startswith("-")) for name in ordering]
    return terms if any(term.column == "id" for term in terms) else [*terms, Term("id", descending=False)]


def _page_size(request: Request) -> int:
    asked = request.query_params.get("page_size", str(USUAL_SIZE))
    if not (asked.isascii() and asked.isdecimal() and 1 <= int(asked[:9]) <= LARGEST_SIZE):
        raise InvalidInputError.at("?page_size", f"give a page size from 1 to {LARGEST_SIZE}", "page_size")
    return int(asked)


def _beyond(terms: Sequence[Term], fields: Sequence[Any], *, back: bool) -> Q:
    """After the cursor's row: a later first value, or the same one and a later second, and so on."""
    beyond, same = Q(), Q()
    for n, (term, field) in enumerate(zip(terms, fields, strict=True)):
        value = Given(f"{KEY}{n}", field)
        beyond |= same & term.beyond(value, back=back)
        same &= Q((term.column, value))
    return beyond


def _field(rows: QuerySet[Any, Any], column: str) -> Any:  # noqa: ANN401 - a Field
    """The field of a column, an annotation's too."""
    annotation = rows.query.annotations.get(column)
    return annotation.output_field if annotation else rows.model._meta.get_field(column)


def _read(field: Any, text: str) -> object:  # noqa: ANN401 - a Field
    """The text of a cursor as a value of the column."""
    try:
        return field.to_python(text)
    except (ValidationError, ValueError, OverflowError):
        raise _broken() from None


def _broken() -> InvalidInputError:
    return InvalidInputError.at("?cursor", "this is no cursor of this list; follow the Link header", "cursor")
