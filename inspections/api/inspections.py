"""Inspections: recorded one by one or a whole team at once; never changed, never removed."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

import django_filters
from django import forms
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.exceptions import ValidationError

from fitting.api.replacements import told_replacements
from gearlife.api.filters import Filters, IdFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.serializers import AwareDateTimeField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Item
from inspections.api.batches import BatchedResource, ids_of
from inspections.api.bodies import EntryResults, InspectionBody, InspectionRow, new_inspection
from inspections.domain.vocabulary import Depth, Grade
from inspections.models import Checklist, Inspection
from inspections.operations.inspect import NewInspection, record_inspection, record_inspections, refuse_bad
from inspections.queries.checklists import newest_checklists
from inspections.queries.inspections import inspection_columns, stopped_a_player, with_aftermath, with_findings

MOST_REPLACEMENTS = 3


class _MomentField(forms.Field):
    """A moment with its offset, as in a body."""

    def clean(self, value: Any) -> datetime | None:  # noqa: ANN401 - what a client sent
        try:
            return AwareDateTimeField().to_internal_value(value) if value else None
        except ValidationError as error:
            raise forms.ValidationError("write a moment with its offset, as 2026-09-14T16:30:00Z") from error


class MomentFilter(django_filters.Filter):
    """A moment of RFC 3339."""

    field_class = _MomentField

    def __init__(self, **kwargs: Any) -> None:
        """Take any moment with its offset."""
        super().__init__(**kwargs)  # type: ignore[no-untyped-call] # the library is not typed


class InspectionFilters(Filters):
    """By item, club, outcome, depth, and when it was looked over."""

    club = IdFilter(field_name="item__club")
    outcome = WordFilter(Grade)
    depth = WordFilter(Depth)
    inspected_after = MomentFilter(field_name="inspected_at", lookup_expr="gt")
    inspected_before = MomentFilter(field_name="inspected_at", lookup_expr="lt")

    class Meta:
        model = Inspection
        fields = ("item",)


@extend_schema_view(bulk=extend_schema(responses={200: EntryResults}))
class Inspections(BatchedResource):
    """Gear looked over: only what was found is sent. It stops the item at once, and a later pass lifts nothing."""

    model = Inspection
    resource = "inspections"
    row = InspectionRow
    create_body = InspectionBody
    filterset_class = InspectionFilters
    ordering = ("-inspected_at",)
    allow = {"read": READERS, "create": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """What is kept of each."""
        return inspection_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add what was found."""
        return with_findings(rows)

    def rows(self, ids: Sequence[UUID]) -> dict[UUID, Row]:
        """The rows; in the answer to a creation with what it led to, to a single one also with replacements."""
        rows = super().rows(ids)
        if self.request.method in {"POST", "PUT"}:
            with_aftermath(rows.values(), self.stamp().at)
        if self.action in {"create", "create_named"}:
            for row in filter(stopped_a_player, rows.values()):
                row["replacements"] = self._replacements(row["item"])
        return rows

    def _replacements(self, item_id: UUID) -> Rows:
        """The likest three; `items/{id}/replacements/` has them all."""
        item = Item.objects.visible_to(self.actor).select_related("club").get(id=item_id)
        return told_replacements(item, self.actor, self.stamp(item.club).day)[:MOST_REPLACEMENTS]

    def fetched(self, bodies: Sequence[Row]) -> Iterable[Any]:
        """The checklists that entries name."""
        return Checklist.objects.visible_to(self.actor).filter(id__in=ids_of(bodies, "checklist"))

    def checker(self, items: Iterable[Item]) -> Callable[[NewInspection, Stamp], None]:
        """By the newest checklists."""
        newest = newest_checklists(self.actor.organisation_id)
        return lambda new, stamp: refuse_bad(new, newest, stamp)

    def new_of(self, id_: UUID, data: Mapping[str, Any]) -> NewInspection:
        """As the operation takes it."""
        return new_inspection(id_, data)

    def left_out(self, data: Mapping[str, Any]) -> Row | None:
        """Of what was not seen nothing is recorded."""
        if not data["not_seen"]:
            return None
        return {"status": 200, "id": None, "item": data["item"].id, "not_seen": True}

    def record_all(self, new: Sequence[NewInspection], stamp: Stamp) -> object:
        """Record them."""
        return record_inspections(new, stamp)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Inspection:
        """Record it."""
        if data["not_seen"]:
            raise InvalidInputError.at(
                "/not_seen", "Nothing was looked at, so there is nothing to record; it stays due."
            )
        return record_inspection(new=new_inspection(id_, data), stamp=stamp)
