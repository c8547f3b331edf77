"""`counted-gear/` and `counted-returns/`: gear without a serial, handed out and given back by kind and number."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from fitting.domain.counted_gear import MOST, CountedKind, outstanding
from fitting.models import CountedGear, CountedReturn, Player
from fitting.models.counted_gear import CountedGearQuerySet
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.queries.rows import COUNTED_RETURN, counted_gear_columns
from gearlife.api.bulk import BulkResource
from gearlife.api.filters import Filters, FlagFilter, IdFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.serializers import AwareDateTimeField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp

WAYS = {"read": READERS, "create": WRITERS}


class CountedGearRow(serializers.Serializer[Any]):
    """Pieces of one kind and size that a player was handed at once."""

    id = serializers.UUIDField()
    player = serializers.UUIDField()
    kind = WordField(CountedKind)
    count = serializers.IntegerField()
    size = serializers.CharField(help_text="As the label has it; sizes of two makers are not comparable.")
    condition_at_issue = serializers.CharField()
    handed_out_at = serializers.DateTimeField()
    given_back = serializers.IntegerField()
    lost = serializers.IntegerField()
    outstanding = serializers.IntegerField(
        help_text="Still to be given back: count - given_back - lost; a mouthguard: 0."
    )
    recorded_at = serializers.DateTimeField()


class CountedGearBody(StrictSerializer):
    """Pieces of one kind for a player."""

    player = Reference(Player, select=("club", "team"))
    kind = WordField(CountedKind)
    count = serializers.IntegerField(min_value=1, max_value=MOST, required=False, default=1)
    size = serializers.CharField(max_length=24, required=False, allow_blank=True, default="")
    condition_at_issue = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    handed_out_at = AwareDateTimeField(required=False, allow_null=True, default=None)


class CountedGearFilters(Filters):
    """By player, team, club and kind; `outstanding=true` gives what is still out."""

    kind = WordFilter(CountedKind)
    team = IdFilter(field_name="player__team")
    club = IdFilter(field_name="player__club")
    outstanding = FlagFilter(method="still_out")

    class Meta:
        model = CountedGear
        fields = ("player",)

    def still_out(self, lines: CountedGearQuerySet, _: str, wanted: bool) -> CountedGearQuerySet:  # noqa: FBT001 - the framework's own
        """What the player still has to give back, or has not."""
        out = lines.outstanding()
        return out if wanted else lines.exclude(id__in=out.values("id"))


class CountedLines(BulkResource):
    """Jerseys, pants, girdles, leg pads, mouthguards: no serial, no limits."""

    model = CountedGear
    resource = "counted-gear"
    row = CountedGearRow
    create_body = CountedGearBody
    filterset_class = CountedGearFilters
    ordering = ("-handed_out_at",)
    allow = WAYS

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - a CountedGearQuerySet
        """The line whole."""
        return counted_gear_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add what is still out."""
        return [row | {"outstanding": _out(row)} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> CountedGear:
        """Hand it out."""
        return hand_out_counted(new=[NewCounted(id=id_, **data)], stamp=stamp)[0]


class CountedReturnRow(serializers.Serializer[Any]):
    """Pieces of a line that came back, or are lost."""

    id = serializers.UUIDField()
    counted_gear = serializers.UUIDField()
    count = serializers.IntegerField()
    lost = serializers.BooleanField()
    condition = serializers.CharField()
    returned_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()


class CountedReturnBody(StrictSerializer):
    """What came back of a line; all that is still out where no number is given."""

    counted_gear = Reference(CountedGear, select=("player__club",))
    count = serializers.IntegerField(min_value=1, max_value=MOST, required=False, allow_null=True, default=None)
    lost = serializers.BooleanField(required=False, default=False, help_text="They will not come back.")
    condition = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    returned_at = AwareDateTimeField(required=False, allow_null=True, default=None)


class CountedReturnFilters(Filters):
    """By line, player, team and club."""

    player = IdFilter(field_name="counted_gear__player")
    team = IdFilter(field_name="counted_gear__player__team")
    club = IdFilter(field_name="counted_gear__player__club")

    class Meta:
        model = CountedReturn
        fields = ("counted_gear",)


class CountedReturns(BulkResource):
    """What came back. A 409 says how many are still out."""

    model = CountedReturn
    resource = "counted-returns"
    row = CountedReturnRow
    create_body = CountedReturnBody
    filterset_class = CountedReturnFilters
    ordering = ("-returned_at",)
    allow = WAYS

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The return whole."""
        return queryset.values(*COUNTED_RETURN)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> CountedReturn:
        """Take it back."""
        return take_back_counted(new=[NewReturn(id=id_, **data)], stamp=stamp)[0]


def _out(row: Row) -> int:
    return outstanding(row["kind"], row["count"], row["given_back"], row["lost"])
