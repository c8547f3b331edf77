"""`items/`: each helmet and pad set, its limits, its holds, and the acts on it."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.bulk import BulkResource
from gearlife.api.hold_many import HeldManyRow, HoldManyBody, answer_of, notice_of
from gearlife.api.item_bodies import CorrectionBody, HoldBody, ItemBody, ItemChange, ItemFilters, ReleaseBody, Retired
from gearlife.api.item_documents import CorrectionRow, EventRow, HoldRow, ItemRow
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import act, client_id
from gearlife.api.schema import results_of
from gearlife.api.schema_members import NEW_ID
from gearlife.domain.access import READERS, STOPPERS, WRITERS, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import ReleaseBasis
from gearlife.models import Hold, Item
from gearlife.operations import holding_many, holds, items
from gearlife.operations.creation import body_digest, create_once
from gearlife.operations.holding_many import Notice, Outcome
from gearlife.operations.retirement_corrections import Correction, correct_retirement
from gearlife.queries.corrections import correction_row
from gearlife.queries.history import history_of
from gearlife.queries.holds import hold_row
from gearlife.queries.items import complete_items, item_columns

Outcomes = list[Outcome]  # named here: inside a resource `list` is the method that answers one


class Items(BulkResource):
    """Helmets and shoulder pads by serial number, or by the club's tag where no serial can be read."""

    model = Item
    resource = "items"
    row = ItemRow
    create_body = ItemBody
    change_body = ItemChange
    filterset_class = ItemFilters
    ordering = ("serial_key",)
    allow = {
        "read": READERS,
        "create": WRITERS,
        "change": WRITERS,
        "hold": STOPPERS,
        "hold-many": WRITERS,
        "release": WRITERS,
        "retire": WRITERS,
        "correct-retirement": WRITERS,
        "mark-missing": WRITERS,
        "found": WRITERS,
        "history": READERS,
    }
    # What may lift a stop, or can never be taken back, is for people.
    people_only = frozenset({"release", "change", "retire", "correct-retirement"})

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - an ItemQuerySet
        """Recorded facts and standing."""
        return item_columns(queryset, day)

    def complete(self, rows: Rows, day: date) -> Rows:
        """The gate's answer, limits, holds, holder."""
        return complete_items(rows, day)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Item:
        """Register it."""
        return items.register(new=items.NewItem(id=id_, **data), stamp=stamp)

    def change_row(self, instance: Item, data: Mapping[str, Any], stamp: Stamp) -> Item:
        """Change recorded facts."""
        return items.change(item=instance, changes=data, stamp=stamp)

    @extend_schema(responses={201: HoldRow, 200: OpenApiResponse(HoldRow, "The same hold is open already.")})
    @action(detail=True, methods=["post"], body=HoldBody, answer=HoldRow)
    def hold(self, request: Request, **_: str) -> Response:
        """Take it out of use, now or from a later day. Stopping needs no If-Match and waits for nobody."""
        item: Item = self.instance()
        data = self.valid(HoldBody, request.data)
        stamp = self.permitted(item)
        person = data.pop("named_person", None)
        new = holds.NewHold(item_id=item.id, named_person_id=person.id if person else None, **data)
        hold, is_new = holds.hold(new=new, stamp=stamp)
        return Response(hold_row(hold.id, stamp.day), status=201 if is_new else 200)

    @extend_schema(parameters=[OpenApiParameter("Idempotency-Key", NEW_ID, OpenApiParameter.HEADER)])
    @action(detail=False, methods=["post"], url_path="hold-many", body=HoldManyBody, answer=HeldManyRow)
    def hold_many(self, request: Request) -> Response:
        """Hold by a maker's notice: a model and its serials, ranges or span of manufacture, in one act.

        What cannot be shown not to be affected is held too. An officer's own clubs; an administrator's organisation.
        """
        data = self.valid(HoldManyBody, request.data)
        notice, stamp = notice_of(data, request.data), self.stamp()
        key = request.headers.get("Idempotency-Key")
        if data["check"]:
            outcome = holding_many.affected_by(notice=notice, stamp=stamp)
        elif key is None:
            outcome = holding_many.hold_many(notice=notice, stamp=stamp)
        else:
            outcome = self._held_once(client_id(key.strip('"'), "Idempotency-Key"), notice, stamp)
        return Response(answer_of(outcome, check=data["check"]))

    def _held_once(self, key: UUID, notice: Notice, stamp: Stamp) -> Outcome:
        """Hold under this key, which belongs to this body alone; asked again, what is held already is held once."""
        made: Outcomes = []
        create_once(
            id_=key,
            resource="items/hold-many",
            digest=body_digest(notice.asked),
            stamp=stamp,
            make=lambda: made.append(holding_many.hold_many(notice=notice, stamp=stamp)),
        )
        return made[0] if made else holding_many.hold_many(notice=notice, stamp=stamp)

    @act(body=ReleaseBody, answer=HoldRow)
    def release(self, instance: Item, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """End one hold by name; where a second person must agree, the first call proposes."""
        hold: Hold = data["hold"]
        if hold.item_id != instance.id:
            raise InvalidInputError.at("/hold", "there is no such hold that you may see", "unknown_id")
        basis = ReleaseBasis(data["basis"])
        holds.release(hold=hold, reason=data["reason"], basis=basis, photo=data["photo"], stamp=stamp)
        return hold_row(hold.id, stamp.day)

    @act(body=Retired)
    def retire(self, instance: Item, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Retire it for good: its holds end with it, and only two people take back what was a mistake."""
        items.retire(item=instance, reason=data["reason"], on=data["on"], stamp=stamp)

    @act(body=CorrectionBody, answer=CorrectionRow)
    def correct_retirement(self, instance: Item, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """Take back a retirement on a mistyped serial: one person proposes with a photo, another completes.

        It comes back stopped: its holds are in force again, and another lasts until it was inspected in full.
        """
        correction = correct_retirement(item=instance, new=Correction(**data), stamp=stamp)
        return correction_row(correction.id, stamp.day)

    @act()
    def mark_missing(self, instance: Item, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Nobody knows where it is."""
        items.mark_missing(item=instance, stamp=stamp)

    @act()
    def found(self, instance: Item, data: Mapping[str, Any], stamp: Stamp) -> None:
        """It is back in the room, and wants a full inspection before it goes out again."""
        items.found(item=instance, stamp=stamp)

    @action(detail=True, methods=["get"], answer=results_of(EventRow))
    def history(self, request: Request, **_: str) -> Response:
        """Everything recorded of it, oldest first, in words: from the ledger and nothing else."""
        item: Item = self.instance()
        return Response({"results": history_of(item.id, item.organisation_id)})
