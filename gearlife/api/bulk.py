"""Many creations in one request, answered entry by entry: a bad one never spoils its neighbours."""

import logging
from typing import Any

from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.problems import Problem, problem_of
from gearlife.api.reading import Row
from gearlife.api.resources import Resource, client_id
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.ids import derived_uuid7, uuid7

MOST_ENTRIES = 500
log = logging.getLogger(__name__)


class BulkResource(Resource):
    """A resource that also takes `bulk/`; `make_all` may be overridden by one that asks less often."""

    @action(detail=False, methods=["post"], url_path="bulk")
    def bulk(self, request: Request) -> Response:
        """Create each entry as a PUT under its `id` would, or under an id of the server where it has none."""
        results = self.make_all(keyed(entries_of(request.data), request.headers.get("Idempotency-Key")))
        rows = self.rows([result["id"] for result in results if result["id"] and "problem" not in result])
        for result in results:
            if row := rows.get(result["id"]):
                row.pop("version", None)
                result["body"] = row
        return Response({"results": results})

    def make_all(self, entries: list[Any]) -> list[Row]:
        """One result an entry, in order: `status`, `id`, and `problem` where it was refused.

        Each entry is its own transaction: one round all would lock items after the ledger's head.
        """
        return [self._make_entry(entry, f"/entries/{number}") for number, entry in enumerate(entries)]

    def _make_entry(self, entry: Any, place: str) -> Row:  # noqa: ANN401 - what a client sent
        id_ = None
        try:
            id_ = entry_id(entry)
            body = {name: value for name, value in entry.items() if name != "id"}
            return {"status": self.make(id_, body), "id": id_}
        except Exception as error:  # noqa: BLE001 - one entry must not lose the others
            return refused(error, id_, place)


def entries_of(sent: Any) -> list[Any]:  # noqa: ANN401 - what a client sent
    """The entries of a bulk body; InvalidInputError when they are not a list of 1 to 500."""
    faults = [Fault("this name is not known here", f"/{name}", "unknown") for name in sent if name != "entries"]
    entries = sent.get("entries")
    if not isinstance(entries, list) or not 1 <= len(entries) <= MOST_ENTRIES:
        faults.append(Fault(f"give a list of 1 to {MOST_ENTRIES} entries", "/entries", "entries"))
    if faults:
        raise InvalidInputError("the entries cannot be read", faults=faults)
    return list(entries or ())


def keyed(entries: list[Any], key: str | None) -> list[Any]:
    """The entries, those without an id under one that follows from the request's key and their place in it."""
    if key is None:
        return entries
    id_ = client_id(key.strip('"'), "Idempotency-Key")
    return [
        {"id": str(derived_uuid7(id_, number)), **entry} if isinstance(entry, dict) else entry
        for number, entry in enumerate(entries)
    ]


def entry_id(entry: object) -> Any:  # noqa: ANN401 - a UUID
    """The id that the client gave an entry, or a new one; InvalidInputError when it is not of version 7."""
    if not isinstance(entry, dict):
        raise InvalidInputError.at("", "an entry must be an object")
    if "id" not in entry:
        return uuid7()
    try:
        return client_id(entry["id"], "id")
    except InvalidInputError as error:
        raise InvalidInputError.at("/id", error.detail, error.code) from None


def refused(error: Exception, id_: object, place: str) -> Row:
    """The result of an entry that was not taken; `place` goes before every pointer."""
    problem = problem_of(error)
    if problem is None:
        log.error("an entry of a bulk request failed", exc_info=error)
        problem = Problem.plain(500)
    return {"status": problem.status, "id": id_, "problem": problem.document(place)}
