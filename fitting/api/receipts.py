"""`receipts/`: what a player was shown of what they have, and its acknowledgement on the officer's device."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from rest_framework import serializers

from fitting.domain.receipts import LONGEST_NAME, SignedAs
from fitting.domain.roles import sees_names
from fitting.models import Player, Receipt
from fitting.operations.receipts import NewReceipt, Signature, acknowledge, make_receipt
from gearlife.api.filters import Filters, FlagFilter, IdFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp

COLUMNS = (
    *("id", "version", "player", "made_at", "replaced_at", "acknowledged_at", "acknowledged_name", "acknowledged_as"),
    *("shown", "digest", "seal"),
)


class ReceiptGear(serializers.Serializer[Any]):
    """One item with a serial, as it was shown."""

    item = serializers.UUIDField()
    kind = serializers.CharField()
    maker = serializers.CharField()
    model = serializers.CharField()
    serial = serializers.CharField()
    tag = serializers.CharField()
    size = serializers.CharField()
    condition = serializers.CharField()
    loan = serializers.BooleanField()
    since = serializers.DateTimeField()


class ReceiptCounted(serializers.Serializer[Any]):
    """One line of counted gear, as it was shown."""

    line = serializers.UUIDField()
    kind = serializers.CharField()
    count = serializers.IntegerField()
    size = serializers.CharField()
    condition = serializers.CharField()
    since = serializers.DateTimeField()


class ReceiptRow(serializers.Serializer[Any]):
    """What was shown; acknowledged, it never changes. `acknowledged_name` is told to those who hand gear out."""

    id = serializers.UUIDField()
    player = serializers.UUIDField()
    gear = ReceiptGear(many=True)
    counted = ReceiptCounted(many=True)
    cautions = serializers.ListField(child=serializers.CharField())
    meaning = serializers.CharField(help_text="What the acknowledgement means.")
    digest = serializers.CharField(help_text="SHA-256 of what was shown.")
    made_at = serializers.DateTimeField()
    made_by = serializers.CharField(allow_null=True)
    replaced_at = serializers.DateTimeField(allow_null=True, help_text="Another took its place before anybody signed.")
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    acknowledged_as = WordField(SignedAs, allow_blank=True)
    acknowledged_name = serializers.CharField()
    acknowledged_with = serializers.CharField(allow_null=True, help_text="Whose account was signed in on the device.")
    seal = serializers.CharField(help_text="Binds digest, name, moment, account and meaning; empty until acknowledged.")


class ReceiptBody(StrictSerializer):
    """A receipt of what the player has now."""

    player = Reference(Player, select=("club", "team"))


class Acknowledgement(StrictSerializer):
    """The name that the player, a parent or a guardian typed."""

    name = serializers.CharField(max_length=LONGEST_NAME)
    acknowledged_as = WordField(SignedAs)


class ReceiptFilters(Filters):
    """By player, team and club; `acknowledged=false` gives those that wait, and those that were replaced."""

    team = IdFilter(field_name="player__team")
    club = IdFilter(field_name="player__club")
    acknowledged = FlagFilter(field_name="acknowledged_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Receipt
        fields = ("player",)


class Receipts(Resource):
    """Receipts. A new one takes the place of one that nobody has acknowledged."""

    model = Receipt
    resource = "receipts"
    row = ReceiptRow
    create_body = ReceiptBody
    filterset_class = ReceiptFilters
    ordering = ("-made_at",)
    allow = {"read": READERS, "create": WRITERS, "acknowledge": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The receipt, and the club by which names are told."""
        people = {"maker": F("made_by__username"), "account": F("acknowledged_with__username")}
        return queryset.values(*COLUMNS, club=F("player__club"), **people)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Lay out what was shown; a name only for those who hand gear out in the club."""
        return [self._told(row) for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Receipt:
        """Make it."""
        return make_receipt(new=NewReceipt(data["player"], id=id_), stamp=stamp)

    @act(body=Acknowledgement)
    def acknowledge(self, instance: Receipt, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Seal it with the typed name; acknowledged so already, nothing changes."""
        acknowledge(receipt=instance, by=Signature(data["name"], data["acknowledged_as"]), stamp=stamp)

    def _told(self, row: Row) -> Row:
        club, shown = row.pop("club"), row.pop("shown")
        name = row["acknowledged_name"] if sees_names(self.actor, club) else ""
        named = {"acknowledged_name": name, "made_by": row.pop("maker"), "acknowledged_with": row.pop("account")}
        return row | {part: shown[part] for part in ("gear", "counted", "cautions", "meaning")} | named
