"""Every body of the API is bounded: no endless text or list, no number without limits."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.urls import URLPattern, URLResolver, get_resolver
from rest_framework import serializers

from gearlife.api.resources import Resource
from gearlife.api.serializers import StrictSerializer

# What must be said of each kind of field; the first that fits counts.
LIMITS: dict[type, tuple[str, ...]] = {
    serializers.ListSerializer: ("max_length",),
    serializers.ListField: ("max_length",),
    serializers.CharField: ("max_length",),
    serializers.IntegerField: ("min_value", "max_value"),
    serializers.FloatField: ("min_value", "max_value"),
    serializers.DictField: ("a limit that such a field cannot have",),
    serializers.JSONField: ("a limit that such a field cannot have",),
}
ROOTS = ["tests.gearlife.api.base_probe", "gearlife.config.urls"]


def bodies(root: str) -> Iterator[tuple[str, type[StrictSerializer]]]:
    """Every body that any address below takes, with the name of its resource."""

    def patterns(resolver: URLResolver) -> Iterator[URLPattern]:
        for each in resolver.url_patterns:
            yield from patterns(each) if isinstance(each, URLResolver) else [each]

    for pattern in patterns(get_resolver(root)):
        view = getattr(pattern.callback, "cls", None)
        if view and issubclass(view, Resource):
            taken = (
                view.create_body,
                view.change_body,
                getattr(pattern.callback, "initkwargs", {}).get("body"),
            )
            yield from ((view.resource, body) for body in taken if body)


def unbounded(field: Any, place: str) -> Iterator[str]:
    """The places below a field where a client could send as much as it likes."""
    if isinstance(field, serializers.Serializer):
        for name, inner in field.fields.items():
            yield from unbounded(inner, f"{place}/{name}")
    elif isinstance(field, serializers.ListSerializer | serializers.ListField):
        yield from unbounded(field.child, f"{place}/-")
    needed = next((names for kind, names in LIMITS.items() if isinstance(field, kind)), ())
    if any(getattr(field, name, None) is None for name in needed):
        yield place


@pytest.mark.parametrize("root", ROOTS)
def test_no_body_takes_without_limit(root: str) -> None:
    found = {f"{name}{place}" for name, body in bodies(root) for place in unbounded(body(), "")}

    assert found == set()


@pytest.mark.parametrize("root", ROOTS)
def test_every_body_refuses_names_that_it_does_not_know(root: str) -> None:
    taken = list(bodies(root))

    assert taken
    assert all(issubclass(body, StrictSerializer) for _, body in taken)
