"""The OpenAPI 3.1 document: what the views declare, with the promises that every address keeps."""

from collections.abc import Iterator
from functools import cache
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    Direction,
    OpenApiParameter,
    OpenApiResponse,
    extend_schema_field,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.bulk import MOST_ENTRIES
from gearlife.api.open_view import OpenView
from gearlife.api.problems import CONTENT_TYPE, PLAIN
from gearlife.api.reading import ReadingView
from gearlife.api.resources import Resource
from gearlife.api.schema_members import NEW_ID, MemberSchema
from gearlife.api.serializers import StrictSerializer

MEANINGS = {
    **{status: words for status, (_, words) in PLAIN.items()},
    409: "The state of things refuses this; every reason is among the errors.",
    412: "The row has changed since it was read.",
    428: "A change must name the version that was read.",
}
WORDS = {"create_named": "put", "partial_update": "patch", "destroy": "delete", "retrieve": "get"}
MADE = {"create", "create_named"}
GUARDED = {"partial_update", "destroy"}
ONLY_ITS_ID: dict[str, Any] = {
    "type": "object",
    "description": "For whoever may create and not read.",
    "properties": {"id": {"type": "string", "format": "uuid"}},
    "required": ["id"],
    "additionalProperties": False,
}
CLIENT_ID = {**NEW_ID, "description": "A UUID of version 7 (RFC 9562)."}


class ProblemError(serializers.Serializer[Any]):
    """One thing that is wrong: a JSON pointer into the sent body, or the name of a query parameter."""

    pointer = serializers.CharField(required=False)
    parameter = serializers.CharField(required=False)
    code = serializers.CharField()
    detail = serializers.CharField()


@extend_schema_serializer(component_name="Problem")
class ProblemDocument(serializers.Serializer[Any]):
    """A problem document (RFC 9457); `code` is stable."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField()
    detail = serializers.CharField()
    errors = ProblemError(many=True)  # type: ignore[assignment] # declared fields leave the class


@extend_schema_field(NEW_ID)
class NewId(serializers.UUIDField):
    """An id that a client makes."""


class BearerScheme(OpenApiAuthenticationExtension):
    """A bearer token."""

    target_class = "gearlife.api.authentication.BearerAuthentication"
    name = "bearer"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """As OpenAPI writes it."""
        return {"type": "http", "scheme": "bearer"}


class SessionScheme(OpenApiAuthenticationExtension):
    """The session of the pages."""

    target_class = "gearlife.api.authentication.ActorSessionAuthentication"
    name = "session"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """As OpenAPI writes it."""
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


class ContractSchema(MemberSchema):
    """Describes one operation; whatever a view says by `extend_schema` comes on top."""

    @property
    def action(self) -> str:
        """The action of a resource; empty for any other view."""
        return str(self.view.action) if isinstance(self.view, Resource) else ""

    def get_operation_id(self) -> str:
        """`items_list`, `items_get`, `items_mark_missing`: the resource and what is done."""
        if not isinstance(self.view, Resource):
            return str(super().get_operation_id())
        return f"{self.view.resource}_{WORDS.get(self.action, self.action.strip('_'))}".replace("-", "_")

    def get_request_serializer(self) -> Any:  # noqa: ANN401 - one of several forms that the framework takes
        """The body."""
        if not isinstance(self.view, Resource):
            return super().get_request_serializer()
        if self.action in MADE:
            return self.view.create_body
        if self.action == "partial_update":
            return self.view.change_body and self.view.change_body(changing=True)
        return bulk_body(self.view.create_body) if self.action == "bulk" else self.view.body

    def get_response_serializers(self) -> Any:  # noqa: ANN401 - one of several forms that the framework takes
        """The answers of success."""
        if not isinstance(self.view, Resource):
            return super().get_response_serializers()
        if self.action in MADE:
            return {
                201: self.view.row,
                200: OpenApiResponse(self.view.row, "This very body had already made it."),
            }
        if self.action == "destroy":
            return {204: None}
        if self.action == "retrieve":
            return {
                200: self.view.row,
                304: OpenApiResponse(None, "The row still has the ETag that was sent."),
            }
        return {200: bulk_answer(self.view.row) if self.action == "bulk" else self.view.answer or self.view.row}

    def get_override_parameters(self) -> list[Any]:
        """The headers of the contract, asked for and answered."""
        return list(self._headers())

    def _headers(self) -> Iterator[OpenApiParameter]:
        if self.action in GUARDED:
            yield _header("If-Match", "The ETag that was read.", required=True)
        if self.action == "retrieve":
            yield _header("If-None-Match", "An ETag; 304 when the row still has it.")
        if self.action == "create":
            yield _header("Idempotency-Key", "A UUID of version 7: makes this a PUT to that id.")
        if self.action in MADE | {"bulk"}:
            yield _header("Device-Time", "What the sending device's clock shows: says how far it is off.")
        if self._answers_a_row():
            yield _header("ETag", "The row's version.", response=[200, 201])
        if self.action in MADE:
            yield _header("Location", "The row's address.", response=[200, 201])
        if self.action == "list":
            yield _header("Link", "The neighbouring pages (RFC 8288).", response=[200])

    def _resolve_path_parameters(self, variables: list[str]) -> list[dict[str, Any]]:
        """Ids as they are written; one under which something is made is of version 7."""
        parameters: list[dict[str, Any]] = super()._resolve_path_parameters(variables)
        for each in parameters:
            if each["name"] == "id":
                each["schema"] = CLIENT_ID if self.action == "create_named" else {"type": "string", "format": "uuid"}
        return parameters

    def _made_by_whom_it_is_hidden(self) -> bool:
        """Whether a role makes rows that it may not read: such a one is told the id and nothing else."""
        if self.action not in MADE or not isinstance(self.view, Resource):
            return False
        return bool(self.view.allow["create"] - self.view.allow.get("read", frozenset()))

    def _answers_a_row(self) -> bool:
        if not isinstance(self.view, Resource) or self.action == "destroy":
            return False
        return self.action == "create" or bool(self.view.detail and self.view.answer is None)

    def _get_response_bodies(self, direction: Direction = "response") -> dict[str, Any]:
        bodies: dict[str, Any] = super()._get_response_bodies(direction)
        if self._made_by_whom_it_is_hidden():
            for made in ("200", "201"):
                for content in bodies[made]["content"].values():
                    content["schema"] = {"anyOf": [content["schema"], ONLY_ITS_ID]}
        for status in sorted(set(self._refusals())):
            described = OpenApiResponse(ProblemDocument, MEANINGS[status])
            body = self._get_response_for_code(  # type: ignore[no-untyped-call]
                described, str(status), (CONTENT_TYPE,), direction
            )
            bodies.setdefault(str(status), body)
        return bodies

    def _refusals(self) -> Iterator[int]:
        """Which problems this operation can answer."""
        if self.view.permission_classes:
            yield from (401, 403)
        if isinstance(self.view, ReadingView):
            yield from (400, 503)
        if self.method in {"POST", "PUT", "PATCH"}:
            yield from (400, 409, 413, 415)
        if self.action in GUARDED:
            yield from (409, 412, 428)
        # A row is named by the path, or by a parameter of the query.
        names_a_row = "{" in self.path or bool(getattr(self.view, "query_parameters", None))
        if names_a_row and self.action not in MADE:
            yield 404

    def _map_basic_serializer(self, serializer: object, direction: Direction) -> dict[str, Any]:
        schema: dict[str, Any] = super()._map_basic_serializer(  # type: ignore[no-untyped-call]
            serializer, direction
        )
        return {**schema, "additionalProperties": False} if isinstance(serializer, StrictSerializer) else schema


class SchemaView(OpenView):
    """`schema/`: the document as JSON."""

    schema = None

    def get(self, request: Request) -> Response:
        """The document; made once, for it depends on nothing but the code."""
        return Response(contract())


@cache
def contract() -> dict[str, Any]:
    """The OpenAPI document of the whole API."""
    return dict(SchemaGenerator().get_schema(request=None, public=True))


@cache
def results_of(row: type[serializers.Serializer[Any]]) -> type[serializers.Serializer[Any]]:
    """Document a bounded list below a row: `{"results": [...]}`, without pages."""
    return _serializer(f"{row.__name__}Results", serializers.Serializer, results=row(many=True))


@cache
def bulk_body(body: type[StrictSerializer]) -> type[serializers.Serializer[Any]]:
    """The body of `bulk/`: entries as the resource takes them, each with or without an id."""
    entry = _serializer(f"{body.__name__}Entry", body, id=NewId(required=False))
    return _serializer(
        f"{body.__name__}Bulk", StrictSerializer, entries=entry(many=True, max_length=MOST_ENTRIES, allow_empty=False)
    )


@cache
def bulk_answer(row: type[serializers.Serializer[Any]]) -> type[serializers.Serializer[Any]]:
    """The answer of `bulk/`: one result an entry, in order."""
    result = _serializer(
        f"{row.__name__}BulkResult",
        serializers.Serializer,
        status=serializers.IntegerField(),
        id=serializers.UUIDField(allow_null=True),
        body=row(required=False),
        problem=ProblemDocument(required=False),
    )
    return _serializer(f"{row.__name__}BulkResults", serializers.Serializer, results=result(many=True))


def _serializer(name: str, base: type[Any], **fields: serializers.Field[Any, Any, Any, Any]) -> type[Any]:
    return type(name, (base,), {**fields, "__doc__": base.__doc__, "__module__": __name__})


def _header(
    name: str, description: str, *, required: bool = False, response: list[int | str] | None = None
) -> OpenApiParameter:
    return OpenApiParameter(
        name,
        NEW_ID if name == "Idempotency-Key" else OpenApiTypes.STR,
        OpenApiParameter.HEADER,
        required=required,
        description=description,
        response=response or False,
    )
