"""`pad-changes/`: what was put into items, once and for ever; `items/{id}/configuration/`: what is in one on a day."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters, FlagFilter, IdFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.api.serializers import AwareDateTimeField, DayField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.models import Item
from inspections.api.inspections import MomentFilter
from inspections.domain.parts import MOST_IN_A_POSITION, THICKEST_MM, PartSort
from inspections.models import Faceguard, PadChange
from inspections.operations.pad_changes import NewPadChange, record_pad_change
from inspections.queries.configuration import configuration_rows

KEPT = (
    *("id", "version", "item", "part", "size", "thickness_mm", "count", "faceguard", "approved", "as_found", "reason"),
    *("changed_at", "recorded_at", "device_at", "clock_ahead_seconds"),
)


class PadChangeBody(StrictSerializer):
    """What was put into a position; an empty `part` took out. `changed_at` is now where it is not given."""

    item = Reference(Item, select=("club",))
    position = serializers.CharField(max_length=40, help_text="The code of one of the model's pad-positions.")
    part = serializers.CharField(
        max_length=80, allow_blank=True, default="", help_text="As the maker's list has it; empty: it was taken out."
    )
    size = serializers.CharField(max_length=24, allow_blank=True, default="")
    thickness_mm = serializers.FloatField(min_value=0, max_value=THICKEST_MM, allow_null=True, default=None)
    count = serializers.IntegerField(
        min_value=1, max_value=MOST_IN_A_POSITION, required=False, help_text="Of parts that are only counted."
    )
    faceguard = Reference(Faceguard, select=("club",), required=False, allow_null=True)
    as_found = serializers.BooleanField(default=False, help_text="It was in there already, and is only noted.")
    reason = serializers.CharField(
        max_length=200, allow_blank=True, default="", help_text="Needed for a part that the maker's list does not have."
    )
    changed_at = AwareDateTimeField(required=False)


class PadChangeRow(serializers.Serializer[Any]):
    """A change: what was put in, whether the maker's list had it then, when, and by whom."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    position = serializers.CharField()
    part = serializers.CharField()
    size = serializers.CharField()
    thickness_mm = serializers.FloatField(allow_null=True)
    count = serializers.IntegerField()
    faceguard = serializers.UUIDField(allow_null=True)
    approved = serializers.BooleanField()
    as_found = serializers.BooleanField()
    reason = serializers.CharField()
    changed_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    device_at = serializers.DateTimeField(allow_null=True)
    clock_ahead_seconds = serializers.IntegerField(allow_null=True)
    recorded_by = serializers.CharField(allow_null=True)


class PadChangeFilters(Filters):
    """By item, club, faceguard, whether the maker approves it, and when it was changed."""

    club = IdFilter(field_name="item__club")
    approved = FlagFilter()
    changed_after = MomentFilter(field_name="changed_at", lookup_expr="gt")
    changed_before = MomentFilter(field_name="changed_at", lookup_expr="lt")

    class Meta:
        model = PadChange
        fields = ("item", "faceguard")


class PadChanges(Resource):
    """Pads and parts put into gear; never changed, never removed. In any order of arrival, the end is the same."""

    model = PadChange
    resource = "pad-changes"
    row = PadChangeRow
    create_body = PadChangeBody
    filterset_class = PadChangeFilters
    ordering = ("-changed_at",)
    allow = {"read": READERS, "create": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything that is kept of it."""
        return queryset.values(*KEPT, code=F("position__code"), recorded_by_name=F("recorded_by__username"))

    def complete(self, rows: Rows, day: date) -> Rows:
        """Name the position by its code, and who recorded it by user name."""
        return [row | {"position": row.pop("code"), "recorded_by": row.pop("recorded_by_name")} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> PadChange:
        """Record it."""
        return record_pad_change(new=NewPadChange(id=id_, **data), stamp=stamp)


class InPositionRow(serializers.Serializer[Any]):
    """One position of an item on a day; `known` is false where nothing was ever recorded of it."""

    position = serializers.CharField()
    position_label = serializers.CharField()
    sort = WordField(PartSort)
    count = serializers.IntegerField()
    required = serializers.BooleanField()  # type: ignore[assignment] # declared fields leave the class
    known = serializers.BooleanField()
    part = serializers.CharField(help_text="Empty where nothing is in it.")
    size = serializers.CharField()
    thickness_mm = serializers.FloatField(allow_null=True)
    approved = serializers.BooleanField(allow_null=True)
    faceguard = serializers.UUIDField(allow_null=True)
    faceguard_label = serializers.CharField(allow_null=True)
    since = serializers.DateTimeField(allow_null=True)
    recorded_by = serializers.CharField(allow_null=True)
    reason = serializers.CharField()
    pad_change = serializers.UUIDField(allow_null=True)


class Configuration(Resource):
    """What hangs on items and needs inspections: mounted under gearlife's address."""

    model = Item
    resource = "items"
    allow = {"configuration": READERS}

    @extend_schema(parameters=[OpenApiParameter("on", OpenApiTypes.DATE, description="At the end of this day; now.")])
    @action(detail=True, methods=["get"], answer=results_of(InPositionRow), query_parameters=frozenset({"on"}))
    def configuration(self, request: Request, **_: str) -> Response:
        """What is in each position of the item, in the order of its model's list."""
        item: Item = self.instance()
        names = InPositionRow().fields.keys()
        rows = configuration_rows(item, self._day())
        return Response({"results": [{name: row[name] for name in names} for row in rows]})

    def _day(self) -> date | None:
        given = self.request.query_params.get("on")
        if given is None:
            return None
        try:
            return DayField().to_internal_value(given)
        except serializers.ValidationError as error:
            words = "write a day as 2026-09-14, not before 1900"
            raise InvalidInputError(words, faults=[Fault(words, "?on", "day")]) from error
