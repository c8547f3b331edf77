"""`not-seen/`: what a check did not find, so that whoever goes on knows; it stays due all the same."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, IdFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource
from gearlife.api.serializers import AwareDateTimeField, Reference, StrictSerializer
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.models import Item
from inspections.api.inspections import MomentFilter
from inspections.models import NotSeen
from inspections.operations.not_seen import NewNotSeen, note_not_seen


class NotSeenBody(StrictSerializer):
    """An item that was not there; `noted_at` is now where it is not given."""

    item = Reference(Item, select=("club",))
    noted_at = AwareDateTimeField(required=False)
    note = serializers.CharField(max_length=200, allow_blank=True, default="")


class NotSeenRow(serializers.Serializer[Any]):
    """Which item, who had it then, when, by whom noted, and why in a word."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    player = serializers.UUIDField()
    noted_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    device_at = serializers.DateTimeField(allow_null=True)
    clock_ahead_seconds = serializers.IntegerField(allow_null=True)
    recorded_by = serializers.CharField(allow_null=True)
    note = serializers.CharField()


class NotSeenFilters(Filters):
    """By item, player, club, and when it was noted."""

    club = IdFilter(field_name="item__club")
    noted_after = MomentFilter(field_name="noted_at", lookup_expr="gt")
    noted_before = MomentFilter(field_name="noted_at", lookup_expr="lt")

    class Meta:
        model = NotSeen
        fields = ("item", "player")


class NotSeenResource(Resource):
    """Items that were not there when they were looked for: no look, so each stays due; never changed, never removed."""

    model = NotSeen
    resource = "not-seen"
    row = NotSeenRow
    create_body = NotSeenBody
    filterset_class = NotSeenFilters
    ordering = ("-noted_at",)
    allow = {"read": READERS, "create": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything that is kept of it."""
        kept = (
            "id",
            "version",
            "item",
            "player",
            "noted_at",
            "recorded_at",
            "note",
            "device_at",
            "clock_ahead_seconds",
        )
        return queryset.values(*kept, recorded_by_name=F("recorded_by__username"))

    def complete(self, rows: Rows, day: date) -> Rows:
        """Say who noted it by user name."""
        return [row | {"recorded_by": row.pop("recorded_by_name")} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> NotSeen:
        """Note it."""
        return note_not_seen(new=NewNotSeen(id=id_, **data), stamp=stamp)
