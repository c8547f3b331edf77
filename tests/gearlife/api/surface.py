"""Every operation of the API, read from the addresses themselves: what the tests must cover is never listed by hand."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver
from rest_framework import serializers

from gearlife.api.resources import Resource
from gearlife.api.serializers import Reference
from gearlife.api.words import PersonField

PREFIX = "api/v1/"
METHODS = ("get", "post", "put", "patch", "delete")
MADE = {"create", "create_named", "bulk"}


@dataclass(frozen=True)
class Operation:
    """One method at one address; `action` is the framework's name of it, empty for a plain view."""

    path: str
    method: str
    view: type[Any]
    action: str = ""
    settings: Mapping[str, Any] = field(default_factory=dict, compare=False, hash=False)

    def __str__(self) -> str:
        return f"{self.method} {self.path}"

    @property
    def is_resource(self) -> bool:
        """Whether it is one of a resource's."""
        return issubclass(self.view, Resource)

    @property
    def is_documented(self) -> bool:
        """Whether the OpenAPI document has it."""
        return self.settings.get("schema", self.view.schema) is not None

    @property
    def has_id(self) -> bool:
        """Whether it is about one row."""
        return "{id}" in self.path

    @property
    def body(self) -> Any:
        """The serializer of its body, or None."""
        if not self.is_resource or self.method in {"GET", "DELETE"}:
            return None
        if self.action in MADE:
            return self.view.create_body
        if self.action == "partial_update":
            return self.view.change_body
        return self.settings.get("body", self.view.body)

    def address(self, id_: object) -> str:
        """The address with an id filled in."""
        return self.path.replace("{id}", str(id_))


def operations() -> list[Operation]:
    """All of them, below the prefix of the API."""
    return sorted(_operations(), key=lambda each: (each.path, METHODS.index(each.method.lower())))


def references(body: type[Any] | None) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Where a body names rows or people: the place as keys, and the field."""
    if body is not None:
        yield from _references(body(), ())


def _references(reader: Any, place: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    match reader:
        case serializers.ListSerializer():
            yield from _references(reader.child, (*place, 0))
        case serializers.Serializer():
            for name, inner in reader.fields.items():
                yield from _references(inner, (*place, name))
        case serializers.ListField():
            yield from _references(reader.child, (*place, 0))
        case Reference() | PersonField() | serializers.UUIDField():
            yield place, reader


def _operations() -> Iterator[Operation]:
    for route, pattern in _patterns(get_resolver().url_patterns, ""):
        if not route.startswith(PREFIX):
            continue
        callback: Any = pattern.callback
        path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", route.removeprefix(PREFIX))
        actions = getattr(callback, "actions", None)
        settings = getattr(callback, "initkwargs", {})
        for method in METHODS:
            if actions is None and hasattr(callback.cls, method):
                yield Operation(path, method.upper(), callback.cls, "", settings)
            elif actions and method in actions:
                yield Operation(path, method.upper(), callback.cls, actions[method], settings)


def _patterns(patterns: list[Any], before: str) -> Iterator[tuple[str, URLPattern]]:
    for pattern in patterns:
        route = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _patterns(pattern.url_patterns, route)
        else:
            yield route, pattern
