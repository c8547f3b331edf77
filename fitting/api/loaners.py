"""`loaners/`: what was set up for a band of sizes, and whether it still is; an assignment with `loan` lends it."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID
from zlib import crc32

from django.db.models import F, QuerySet
from rest_framework import serializers

from fitting.domain.lengths import LONGEST_MM, SHORTEST_MM
from fitting.domain.loaners import Band
from fitting.domain.vocabulary import LoanerEnds, MeasurementKind
from fitting.models import Loaner
from fitting.operations.loaners import NewLoaner, end_loaner, set_up
from fitting.queries.loaners import LoanerNow, loaners_now
from gearlife.api import clock
from gearlife.api.filters import Filters, FlagFilter, IdFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item

LEAST, MOST = float(SHORTEST_MM), float(LONGEST_MM)


class BandBody(StrictSerializer):
    """For players whose measure lies between: the head of a helmet's, the chest of pads', and the shoulders."""

    measure = WordField(MeasurementKind)
    from_mm = serializers.FloatField(min_value=LEAST, max_value=MOST)
    to_mm = serializers.FloatField(min_value=LEAST, max_value=MOST)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """As the domain takes one."""
        return {"band": Band(attrs["measure"], attrs["from_mm"], attrs["to_mm"])}


class LoanerBody(StrictSerializer):
    """An item of the room, set up now."""

    item = Reference(Item, select=("club",))
    bands = BandBody(many=True, min_length=1, max_length=2)
    pads_and_air = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class LoanerRow(serializers.Serializer[Any]):
    """An item that was set up; `ready` and `not_ready_because` are asked now and never stored."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    kind = WordField(Kind)
    size = serializers.CharField(help_text="The item's size as the records had it then.")
    bands = BandBody(many=True)
    pads_and_air = serializers.CharField()
    prepared_at = serializers.DateTimeField()
    prepared_by = serializers.CharField(allow_null=True)
    ended_at = serializers.DateTimeField(allow_null=True)
    ended_by = WordField(LoanerEnds, allow_blank=True)
    ready = serializers.BooleanField(help_text="Nothing recorded speaks against lending it for its band.")
    not_ready_because = serializers.ListField(child=serializers.CharField())


class LoanerFilters(Filters):
    """By item, club and kind; `open=true` gives those that no act has ended."""

    kind = WordFilter(Kind)
    club = IdFilter(field_name="item__club")
    open = FlagFilter(field_name="ended_at", lookup_expr="isnull")

    class Meta:
        model = Loaner
        fields = ("item",)


class Loaners(Resource):
    """Gear set up to be lent on a game day."""

    model = Loaner
    resource = "loaners"
    row = LoanerRow
    create_body = LoanerBody
    filterset_class = LoanerFilters
    ordering = ("-prepared_at",)
    allow = {"read": READERS, "create": WRITERS, "end": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The row whole."""
        kept = ("id", "version", "item", "kind", "size", "bands", "pads_and_air", "prepared_at", "ended_at", "ended_by")
        return queryset.values(*kept, preparer=F("prepared_by__username"))

    def complete(self, rows: Rows, day: date) -> Rows:
        """Say of each whether it is ready, and who set it up."""
        now = {each.loaner.id: each for each in loaners_now(Loaner.objects.filter(id__in=_ids(rows)), clock.now())}
        return [_told(row, now.get(row["id"])) for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Loaner:
        """Set it up; what it was set up for before is ended."""
        bands = [each["band"] for each in data["bands"]]
        return set_up(new=NewLoaner(data["item"].id, bands, data["pads_and_air"], id_), stamp=stamp)

    @act(body=StrictSerializer)
    def end(self, instance: Loaner, data: Mapping[str, Any], stamp: Stamp) -> None:
        """It is no loaner any more; ended already, nothing changes."""
        end_loaner(loaner=instance, stamp=stamp)


def _ids(rows: Rows) -> list[UUID]:
    return [row["id"] for row in rows]


def _told(row: Row, now: LoanerNow | None) -> Row:
    """The row with what is asked now, which changes while nobody writes it: its version says so."""
    why = [*now.spoilt, *now.against] if now else []
    version = f"{row['version']}.{crc32(' '.join(why).encode()):08x}"
    ready = {"ready": bool(now and now.ready), "not_ready_because": why}
    return row | ready | {"version": version, "prepared_by": row.pop("preparer")}
