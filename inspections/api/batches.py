"""A whole team's check in one request: read entry by entry, recorded at once, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction

from gearlife.api.bulk import BulkResource, entry_id, refused
from gearlife.api.reading import Row, Rows
from gearlife.api.serializers import read_uuid
from gearlife.domain.access import Stamp
from gearlife.models import Creation, Item
from gearlife.operations.creation import body_digest, claim_all
from inspections.api.bodies import InspectionBody, new_inspection
from inspections.models import Checklist
from inspections.operations.inspect import NewInspection, record_inspections, refuse_bad
from inspections.queries.checklists import newest_checklists


@dataclass(frozen=True)
class Ready:
    """A good entry: its place, its id, the digest of its body, and what is to be recorded."""

    place: int
    id: UUID
    digest: str
    new: NewInspection
    stamp: Stamp


class BatchedInspections(BulkResource):
    """`bulk/` for inspections. A bad entry is refused by itself and spoils no other."""

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
                record_inspections([each.new for each in ready], stamp)
        except Exception:  # noqa: BLE001 - whatever it was, the next attempt tells each entry its own
            return {}
        return {each.place: {"status": 201, "id": each.id} for each in ready}


class _Reader:
    """Reads entries with everything fetched before: items, checklists, and which ids were sent before."""

    def __init__(self, resource: BulkResource, entries: list[Any]) -> None:
        bodies = [entry for entry in entries if isinstance(entry, dict)]
        actor = resource.actor
        self.resource = resource
        self.taken = set(Creation.objects.filter(id__in=_ids(bodies, "id")).values_list("id", flat=True))
        self.newest = newest_checklists(actor.organisation_id)
        items = Item.objects.visible_to(actor).select_related("club").filter(id__in=_ids(bodies, "item"))
        checklists = Checklist.objects.visible_to(actor).filter(id__in=_ids(bodies, "checklist"))
        fetched = {(type(row), row.id): row for row in (*items, *checklists)}
        self.context = {"actor": actor, "fetched": fetched}

    def read(self, place: int, entry: Any) -> Ready | Row | None:  # noqa: ANN401 - what a client sent
        """A good entry, else its result; None for an id that was sent before, in this request or an earlier one."""
        id_ = None
        try:
            id_ = entry_id(entry)
            if id_ in self.taken:
                return None
            body = {name: value for name, value in entry.items() if name != "id"}
            reader = InspectionBody(data=body, context=self.context)
            reader.is_valid(raise_exception=True)
            return self._good(place, id_, body, dict(reader.validated_data))
        except Exception as error:  # noqa: BLE001 - one entry must not lose the others
            return refused(error, id_, f"/entries/{place}")

    def _good(self, place: int, id_: UUID, body: Row, data: Row) -> Ready | Row:
        stamp = self.resource.permitted(data)
        if data["not_seen"]:
            return {"status": 200, "id": None, "item": data["item"].id, "not_seen": True}
        new = new_inspection(id_, data)
        refuse_bad(new, self.newest, stamp)
        self.taken.add(id_)
        return Ready(place, id_, body_digest(body), new, stamp)


def _ids(bodies: Iterable[Row], name: str) -> set[UUID]:
    return {id_ for body in bodies if (id_ := read_uuid(body.get(name)))}
