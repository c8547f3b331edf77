"""A resource: what every address of the API promises, once; each resource adds words and one-line hooks.

Lists and details are rows of `columns`; PUT and POST create, PATCH changes under If-Match, acts are POSTs.
"""

from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, ClassVar
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.etags import etag_of, is_current, required_version
from gearlife.api.filters import refuse_unknown
from gearlife.api.permissions import roles_for
from gearlife.api.places import clubs_of
from gearlife.api.problems import PLAIN
from gearlife.api.reading import ReadingView, Row
from gearlife.api.serializers import StrictSerializer, read_uuid
from gearlife.domain.access import Stamp, require_grant
from gearlife.domain.errors import ConflictError, InvalidInputError, NotFoundError
from gearlife.domain.ids import is_uuid7, uuid7
from gearlife.domain.vocabulary import Role
from gearlife.operations.creation import body_digest, create_once, was_created

Body = type[StrictSerializer]
Document = type[serializers.Serializer[Any]]


class Resource(ReadingView):
    """The base of every resource. `allow` gives roles by verb: read, create, change, delete, each act's word."""

    resource: ClassVar[str]
    row: ClassVar[Document]
    create_body: ClassVar[Body | None] = None
    change_body: ClassVar[Body | None] = None
    allow: ClassVar[Mapping[str, frozenset[Role]]] = {}
    people_only: ClassVar[frozenset[str]] = frozenset()
    query_parameters: ClassVar[frozenset[str]] = frozenset()

    lookup_field = "id"
    lookup_value_converter = "str"
    # Set by `act` and by `@action(..., answer=...)` for one action; the OpenAPI document reads them too.
    body: Body = StrictSerializer
    answer: Document | None = None

    # What a resource writes.

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> object:
        """Make the row under this id, by one call into an operation."""
        raise NotImplementedError

    def change_row(self, instance: Any, data: Mapping[str, Any], stamp: Stamp) -> object:  # noqa: ANN401 - a row of `model`
        """Change the locked row and bump its version, by one call into an operation."""
        raise NotImplementedError

    def delete_row(self, instance: Any, stamp: Stamp) -> object:  # noqa: ANN401 - a row of `model`
        """Remove the locked row; DELETE exists where this is written."""
        raise NotImplementedError

    # What every resource answers.

    def list(self, request: Request) -> Response:
        """One page of the rows that the actor may see."""
        rows = self.page()
        for row in rows:
            row.pop("version", None)
        return self.get_paginated_response(rows)

    def retrieve(self, request: Request, **_: str) -> Response:
        """One row, with its ETag."""
        return self.show(self.id_in_path())

    def create(self, request: Request) -> Response:
        """Create under an id of the server, or under the client's in `Idempotency-Key`."""
        key = request.headers.get("Idempotency-Key")
        id_ = uuid7() if key is None else client_id(key.strip('"'), "Idempotency-Key")
        return self.show_made(id_, self.make(id_, request.data))

    def create_named(self, request: Request, **kwargs: str) -> Response:
        """Create under the id in the path, once: the same body again changes nothing, another is refused."""
        id_ = client_id(kwargs["id"], "the id in the path")
        return self.show_made(id_, self.make(id_, request.data))

    def partial_update(self, request: Request, **_: str) -> Response:
        """Change the members that are sent, where the row is still as the client read it."""
        instance = self.instance()
        required_version(request, instance.version)
        data = self.valid(self.change_body or StrictSerializer, request.data, changing=True)
        stamp = self.permitted(instance, data)
        with transaction.atomic():
            self.change_row(self.locked(instance), data, stamp)
        return self.show(instance.id)

    def destroy(self, request: Request, **_: str) -> Response:
        """Remove the row, where it is still as the client read it."""
        instance = self.instance()
        required_version(request, instance.version)
        stamp = self.permitted(instance, {})
        with transaction.atomic():
            self.delete_row(self.locked(instance), stamp)
        return Response(status=204)

    def options(self, request: HttpRequest, *_: object, **__: str) -> Response:
        """Which methods there are, in `Allow`."""
        return Response(status=204)

    @classmethod
    def offers(cls, action_name: str) -> bool:
        """Whether the resource has what the action needs; the router leaves out the rest: 405."""
        match action_name:
            case "create" | "create_named":
                return cls.create_body is not None
            case "partial_update":
                return cls.change_body is not None
            case "destroy":
                return cls.delete_row is not Resource.delete_row
        return hasattr(cls, action_name)

    # What both of them use.

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        """Ask who it is and for the role; then refuse query parameters that nobody would read."""
        super().initial(request, *args, **kwargs)
        # A list reads its own; and where there is no such method, that alone is the answer.
        if self.action not in {"list", None}:
            refuse_unknown(request, self.query_parameters)

    def id_in_path(self) -> UUID:
        """The id in the path; NotFoundError when it is none."""
        id_ = read_uuid(self.kwargs["id"])
        if id_ is None:
            raise NotFoundError(PLAIN[404][1])
        return id_

    def instance(self) -> Any:  # noqa: ANN401 - the resource's model
        """The row in the path; NotFoundError when the actor may not see it or there is none."""
        found = self.get_queryset().filter(id=self.id_in_path()).first()
        if found is None:
            raise NotFoundError(PLAIN[404][1])
        return found

    def locked(self, instance: Any) -> Any:  # noqa: ANN401 - the resource's model
        """The same row under a lock, in a transaction; PreconditionFailedError if it changed meanwhile."""
        # Weaker than a deletion's lock: whoever inserts a row that points here need not wait, nor we for that one.
        row = self.model.objects.select_for_update(no_key=True).filter(id=instance.id).first()
        if row is None:
            raise NotFoundError(PLAIN[404][1])
        required_version(self.request, row.version)
        return row

    def valid(self, body: Body, sent: object, *, changing: bool = False) -> dict[str, Any]:
        """Read a body; ValidationError with every fault."""
        reader = body(data=sent, context={"actor": self.actor}, changing=changing)
        reader.is_valid(raise_exception=True)
        return dict(reader.validated_data)

    def permitted(self, *named: object) -> Stamp:
        """The stamp of a write; NotPermittedError unless the role is held in every club of the rows."""
        clubs = clubs_of(named)
        require_grant(self.actor, roles_for(self), (club.id for club in clubs))
        return self.stamp(clubs[0] if clubs else None)

    def make(self, id_: UUID, sent: Any) -> int:  # noqa: ANN401 - what a client sent
        """Create once under this id: 201 the first time, 200 when this body has already made it."""
        digest = body_digest(sent)
        if was_created(id_=id_, resource=self.resource, digest=digest, actor=self.actor):
            return 200
        data = self.valid(self.create_body or StrictSerializer, sent)
        stamp = self.permitted(data)
        first = create_once(
            id_=id_,
            resource=self.resource,
            digest=digest,
            stamp=stamp,
            make=lambda: self.create_row(id_, data, stamp),
        )
        return 201 if first else 200

    def show(self, id_: UUID, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
        """One row with its ETag; 304 when the client already has it."""
        row = self.rows([id_]).get(id_)
        if row is None:
            raise NotFoundError(PLAIN[404][1])
        return self.shown(row, status, headers)

    def shown(self, row: Row, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
        """A row that was just read, with its ETag."""
        tag = etag_of(row.pop("version"), self.stamp().day)
        if self.request.method in {"GET", "HEAD"} and is_current(self.request, tag):
            return Response(status=304, headers={"ETag": tag})
        return Response(row, status=status, headers={**(headers or {}), "ETag": tag})

    def show_made(self, id_: UUID, status: int) -> Response:
        """The created row with its address; only its id where the actor may create and not read."""
        headers = {"Location": self.reverse_action("detail", args=[id_])}
        if row := self.rows([id_]).get(id_):
            return self.shown(row, status, headers)
        if not self.model.objects.filter(id=id_).exists():
            raise ConflictError("This was created once and has been removed since.", code="removed")
        return Response({"id": id_}, status=status, headers=headers)


Act = Callable[[Any, Any, dict[str, Any], Stamp], Row | None]


def act(*, body: Body = StrictSerializer, answer: Document | None = None) -> Callable[[Act], Any]:
    """Make a method `(self, instance, data, stamp)` a POST below the row, named as the method is.

    It answers the row as it then is, or what the method gives, which `answer` documents.
    """

    def decorate(function: Act) -> Any:  # noqa: ANN401 - a view action of the framework
        @wraps(function)
        def run(self: Resource, request: Request, **_: str) -> Response:
            instance = self.instance()
            data = self.valid(body, request.data)
            given = function(self, instance, data, self.permitted(instance, data))
            return self.show(instance.id) if given is None else Response(given)

        word = function.__name__.strip("_").replace("_", "-")
        return action(detail=True, methods=["post"], url_path=word, body=body, answer=answer)(run)

    return decorate


def client_id(text: str, place: str) -> UUID:
    """An id that a client made; InvalidInputError unless it is a UUID of version 7."""
    id_ = read_uuid(text)
    if id_ is None or not is_uuid7(id_):
        raise InvalidInputError(f"{place} must be a UUID of version 7 (RFC 9562)", code="id")
    return id_
