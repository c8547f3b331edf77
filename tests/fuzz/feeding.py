"""The OpenAPI document as one who knows the club would read it: where it says "an id", the ids that there are.

Only what may be sent is told more narrowly. What is answered stays as the document says it.
"""

import copy
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tests.gearlife.api.surface import PREFIX

Ids = Mapping[str, Sequence[str]]

# Where a body or a query names a row: the member's name, and the resource whose ids it takes.
NAMED = {
    "club": "clubs",
    "team": "teams",
    "manufacturer": "manufacturers",
    "model": "models",
    "item": "items",
    "right_item": "items",
    "player": "players",
    "photo": "photos",
    "checklist": "checklists",
    "replaces": "assignments",
    "hold": "holds",
}
# Text of which only some is taken, by a list that no schema can hold.
KNOWN: Mapping[str, Sequence[str]] = {
    "timezone": ("America/Chicago", "Pacific/Auckland"),
    # Whatever the row's version is: that a stale one is refused has its own tests.
    "If-Match": ("*",),
}


def fed(document: Any, ids: Ids) -> Any:
    """A copy in which every id that may be sent is one of `ids`; a new row's own is left to chance."""
    document = copy.deepcopy(document)
    for member, declared in _sent(document):
        known = ids[NAMED[member]] if member in NAMED else KNOWN.get(member)
        if known is not None:
            declared.pop("format", None)
            declared["enum"] = [*known, *([None] if "null" in declared["type"] else ())]
    for path, methods in document["paths"].items():
        resource = path.removeprefix(f"/{PREFIX}").split("/")[0]
        for declared in _places(methods):
            declared.clear()
            declared |= {"type": "string", "enum": list(ids[resource])}
    return document


def _sent(document: Any) -> Iterator[tuple[str, Any]]:
    """Every member of a body, query parameter and header: its name and its schema."""
    for name, schema in document["components"]["schemas"].items():
        if name.endswith("Request"):
            yield from schema.get("properties", {}).items()
    for methods in document["paths"].values():
        for operation in methods.values():
            for parameter in operation.get("parameters", ()):
                if parameter["in"] != "path":
                    yield parameter["name"], parameter["schema"]


def _places(methods: Mapping[str, Any]) -> Iterator[Any]:
    """The schema of the id in the path, where it names a row that is there already."""
    for method, operation in methods.items():
        for parameter in operation.get("parameters", ()):
            if parameter["in"] == "path" and method != "put":
                yield parameter["schema"]
