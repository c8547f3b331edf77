"""`part-stock/`: a club's parts, simply counted; `stock-entries/`: deliveries and counts."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, FlagFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource
from gearlife.api.serializers import AwareDateTimeField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.models import Club
from inspections.api.parts import PartFilter
from inspections.domain.part_stock import MOST_COUNTED, StockAct
from inspections.models import PartStock, StockEntry
from inspections.operations.part_stock import NewStockEntry, enter_stock


class PartStockRow(serializers.Serializer[Any]):
    """How many of a part there should be; `count_again`: more were used than there were, so the count was wrong."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    part = serializers.CharField()
    count = serializers.IntegerField()
    count_again = serializers.BooleanField()
    counted_at = serializers.DateTimeField(allow_null=True)


class PartStockFilters(Filters):
    """By club, part, and whether it wants counting."""

    part = PartFilter()
    count_again = FlagFilter()

    class Meta:
        model = PartStock
        fields = ("club",)


class PartStocks(Resource):
    """Parts on a club's shelf; every change of an item takes what it put in, and is never refused for want of any."""

    model = PartStock
    resource = "part-stock"
    row = PartStockRow
    filterset_class = PartStockFilters
    ordering = ("part_key",)
    allow = {"read": READERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        return queryset.values("id", "version", "club", "part", "count", "count_again", "counted_at")


class StockEntryBody(StrictSerializer):
    """So many were delivered, or so many were counted; what is used, the changes of items say by themselves."""

    club = Reference(Club)
    part = serializers.CharField(max_length=80)
    act = serializers.ChoiceField(choices=[StockAct.DELIVERED.value, StockAct.COUNTED.value])
    count = serializers.IntegerField(min_value=0, max_value=MOST_COUNTED)
    happened_at = AwareDateTimeField(required=False)


class StockEntryRow(serializers.Serializer[Any]):
    """What moved a count, when, and by whom; `pad_change` names what used it."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    part = serializers.CharField()
    act = WordField(StockAct)
    count = serializers.IntegerField()
    happened_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    device_at = serializers.DateTimeField(allow_null=True)
    clock_ahead_seconds = serializers.IntegerField(allow_null=True)
    recorded_by = serializers.CharField(allow_null=True)
    pad_change = serializers.UUIDField(allow_null=True)


class StockEntryFilters(Filters):
    """By club, part and act."""

    part = PartFilter()
    act = WordFilter(StockAct)

    class Meta:
        model = StockEntry
        fields = ("club",)


class StockEntries(Resource):
    """Deliveries, counts and uses; never changed, never removed. A wrong count is put right by another count."""

    model = StockEntry
    resource = "stock-entries"
    row = StockEntryRow
    create_body = StockEntryBody
    filterset_class = StockEntryFilters
    ordering = ("-happened_at",)
    allow = {"read": READERS, "create": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        kept = ("id", "version", "club", "part", "act", "count", "happened_at", "recorded_at", "device_at")
        named = {"pad_change": F("change"), "recorded_by_name": F("recorded_by__username")}
        return queryset.values(*kept, "clock_ahead_seconds", **named)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Say who recorded it by user name."""
        return [row | {"recorded_by": row.pop("recorded_by_name")} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> StockEntry:
        """Record it."""
        new = NewStockEntry(id=id_, **{**data, "act": StockAct(data["act"])})
        return enter_stock(new=new, stamp=stamp)
