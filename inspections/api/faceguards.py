"""`faceguards/`: guards by their own labels, and which helmets they were on."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters, FlagFilter
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.api.serializers import DayField, Reference, StrictSerializer
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.models import Club, Item
from inspections.api.parts import PartFilter
from inspections.domain.parts import FIRST_YEAR, LAST_YEAR
from inspections.models import Faceguard
from inspections.operations import part_lists
from inspections.operations.part_lists import NewGuard
from inspections.queries.parts import stays_of


class GuardChange(StrictSerializer):
    """What may be completed of a guard: what its label says, and that it is discarded."""

    certified_on = DayField(required=False, allow_null=True)
    label_year = serializers.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False, allow_null=True)
    discarded_on = DayField(required=False, allow_null=True)


class GuardBody(StrictSerializer):
    """A guard by its own serial or label."""

    club = Reference(Club)
    label = serializers.CharField(max_length=64)  # type: ignore[assignment] # declared fields leave the class
    part = serializers.CharField(max_length=80)
    maker = serializers.CharField(max_length=80, allow_blank=True, default="")
    size = serializers.CharField(max_length=24, allow_blank=True, default="")
    certified_on = DayField(required=False, allow_null=True)
    label_year = serializers.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False, allow_null=True)


class GuardRow(serializers.Serializer[Any]):
    """A faceguard: `certified_on` or `label_year` as its own label says, null where it does not."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    label = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class
    part = serializers.CharField()
    maker = serializers.CharField()
    size = serializers.CharField()
    certified_on = serializers.DateField(allow_null=True)
    label_year = serializers.IntegerField(allow_null=True)
    discarded_on = serializers.DateField(allow_null=True)


class StayRow(serializers.Serializer[Any]):
    """A guard's time on one helmet; `until` is null while it is on it."""

    item = serializers.UUIDField()
    item_label = serializers.CharField()
    since = serializers.DateTimeField()
    until = serializers.DateTimeField(allow_null=True)
    pad_change = serializers.UUIDField()


class GuardFilters(Filters):
    """By club, label and part; `discarded=false` leaves those that are still used."""

    part = PartFilter()
    discarded = FlagFilter(field_name="discarded_on", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Faceguard
        fields = ("club", "label")


class Faceguards(Resource):
    """Faceguards: certified like the helmets that they go on, and with a history of their own."""

    model = Faceguard
    resource = "faceguards"
    row = GuardRow
    create_body = GuardBody
    change_body = GuardChange
    filterset_class = GuardFilters
    ordering = ("label_key",)
    allow = {"read": READERS, "create": WRITERS, "change": WRITERS, "history": READERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        kept = ("club", "label", "part", "maker", "size", "certified_on", "label_year", "discarded_on")
        return queryset.values("id", "version", *kept)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Faceguard:
        """Add it."""
        return part_lists.add_guard(new=NewGuard(id=id_, **data), stamp=stamp)

    def change_row(self, instance: Faceguard, data: Mapping[str, Any], stamp: Stamp) -> Faceguard:
        """Complete it."""
        return part_lists.change_guard(guard=instance, changes=data, stamp=stamp)

    @action(detail=True, methods=["get"], answer=results_of(StayRow))
    def history(self, request: Request, **_: str) -> Response:
        """Which helmets it was on and when, the latest first; those that the actor may see."""
        found = stays_of(self.instance())
        seen = set(Item.objects.visible_to(self.actor).filter(id__in={item.id for item, _ in found}).values_list("id"))
        rows = [
            {
                "item": item.id,
                "item_label": item.label,
                "since": stay.since.at,
                "until": stay.until.at if stay.until else None,
                "pad_change": stay.since.id,
            }
            for item, stay in found
            if (item.id,) in seen
        ]
        return Response({"results": rows})
