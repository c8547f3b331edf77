"""A whole team's records in one request: read entry by entry, recorded at once, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol
from uuid import UUID

from django.db import transaction

from gearlife.api.bulk import BulkResource, entry_id, refused
from gearlife.api.reading import Row, Rows
from gearlife.api.serializers import StrictSerializer, read_uuid
from gearlife.domain.access import Stamp
from gearlife.models import Creation, Item
from gearlife.operations.creation import body_digest, claim_all


class OfItem(Protocol):
    """What is to be recorded of one item."""

    @property
    def item(self) -> Item:
        """The item."""


@dataclass(frozen=True)
class Ready:
    """A good entry: its place, its id, the digest of its body, and what is to be recorded."""

    place: int
    id: UUID
    digest: str
    new: OfItem
    stamp: Stamp


class BatchedResource(BulkResource):
    """`bulk/` for what is recorded of items. A bad entry is refused by itself and spoils no other."""

    # What a resource writes.

    def fetched(self, bodies: Sequence[Row]) -> Iterable[Any]:
        """The rows that entries refer to, besides their items, fetched at once."""
        return ()

    def checker(self, items: Iterable[Item]) -> Callable[[Any, Stamp], None]:
        """What refuses a bad entry, with all that it needs read before."""
        raise NotImplementedError

    def new_of(self, id_: UUID, data: Mapping[str, Any]) -> OfItem:
        """A validated body as the operation takes it."""
        raise NotImplementedError

    def left_out(self, data: Mapping[str, Any]) -> Row | None:
        """The result of an entry of which nothing is to be recorded; None for all others."""
        return None

    def record_all(self, new: Sequence[Any], stamp: Stamp) -> object:
        """Record one club's entries, all or none."""
        raise NotImplementedError

    # What each of them does.

    def make_all(self, entries: list[Any]) -> Rows:
        """All good entries at once; those that were sent before, or cannot go along after all, one by one."""
        reader = _Reader(self, entries)
        results: dict[int, Row] = {}
        clubs: dict[UUID, list[Ready]] = defaultdict(list)
        for place, entry in enumerate(entries):
            read = reader.read(place, entry)
            if isinstance(read, Ready):
                clubs[read.new.item.club_id].append(read)
            elif read is not None:
                results[place] = read
        for ready in clubs.values():
            results |= self._record(ready)
        return [
            results.get(place) or self._make_entry(entry, f"/entries/{place}") for place, entry in enumerate(entries)
        ]

    def _record(self, ready: list[Ready]) -> dict[int, Row]:
        """One club's entries in one transaction; none of them when one fails, and each is then tried by itself."""
        stamp = ready[0].stamp
        try:
            with transaction.atomic():
                claim_all(digests={each.id: each.digest for each in ready}, resource=self.resource, stamp=stamp)
                self.record_all([each.new for each in ready], stamp)
        except Exception:  # noqa: BLE001 - whatever it was, the next attempt tells each entry its own
            return {}
        return {each.place: {"status": 201, "id": each.id} for each in ready}


class _Reader:
    """Reads entries with everything fetched before: what they refer to, and which ids were sent before."""

    def __init__(self, resource: BatchedResource, entries: list[Any]) -> None:
        bodies = [entry for entry in entries if isinstance(entry, dict)]
        self.resource = resource
        self.taken = set(Creation.objects.filter(id__in=ids_of(bodies, "id")).values_list("id", flat=True))
        visible = Item.objects.visible_to(resource.actor).select_related("club")
        items = list(visible.filter(id__in=ids_of(bodies, "item")))
        self.refuse_bad = resource.checker(items)
        fetched = {(type(row), row.id): row for row in (*items, *resource.fetched(bodies))}
        self.context = {"actor": resource.actor, "fetched": fetched}

    def read(self, place: int, entry: Any) -> Ready | Row | None:  # noqa: ANN401 - what a client sent
        """A good entry, else its result; None for an id that was sent before, in this request or an earlier one."""
        id_ = None
        try:
            id_ = entry_id(entry)
            if id_ in self.taken:
                return None
            body = {name: value for name, value in entry.items() if name != "id"}
            reader = (self.resource.create_body or StrictSerializer)(data=body, context=self.context)
            reader.is_valid(raise_exception=True)
            return self._good(place, id_, body, dict(reader.validated_data))
        except Exception as error:  # noqa: BLE001 - one entry must not lose the others
            return refused(error, id_, f"/entries/{place}")

    def _good(self, place: int, id_: UUID, body: Row, data: Row) -> Ready | Row:
        stamp = self.resource.permitted(data)
        if left_out := self.resource.left_out(data):
            return left_out
        new = self.resource.new_of(id_, data)
        self.refuse_bad(new, stamp)
        self.taken.add(id_)
        return Ready(place, id_, body_digest(body), new, stamp)


def ids_of(bodies: Iterable[Row], name: str) -> set[UUID]:
    """The ids that bodies have under one name."""
    return {id_ for body in bodies if (id_ := read_uuid(body.get(name)))}
