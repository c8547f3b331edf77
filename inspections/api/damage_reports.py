"""`damage-reports/`: what somebody saw broken, by item, tag or serial as typed; kept once, and never lost."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.bulk import BulkResource
from gearlife.api.filters import Filters, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import act
from gearlife.api.schema import results_of
from gearlife.api.serializers import AwareDateTimeField, Reference, Reportable, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, REPORTERS, WRITERS, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind, Whereabouts
from gearlife.models import Club, Item, Photo
from inspections.api.inspections import MomentFilter
from inspections.domain.vocabulary import LooksLike, ReportState
from inspections.models import DamageReport
from inspections.operations.damage_reports import MOST_PHOTOS, NewReport, link_report, report_damage
from inspections.operations.damage_reviews import confirm_report, dismiss_report, review_report
from inspections.queries.damage_reports import likely_items, report_columns, with_photos


class ReportBody(StrictSerializer):
    """Damage to one item: `item`, or `serial` or `tag` as written on it. `seen_at` is now where it is not given."""

    club = Reportable(Club, required=False)
    item = Reportable(Item, select=("club",), required=False, allow_null=True)
    serial = serializers.CharField(max_length=64, allow_blank=True, default="")
    tag = serializers.CharField(max_length=64, allow_blank=True, default="")
    seen_at = AwareDateTimeField(required=False)
    description = serializers.CharField(max_length=2000)
    severity = WordField(LooksLike, default=LooksLike.UNSURE)
    photos = serializers.ListField(child=Reportable(Photo, select=("club",)), max_length=MOST_PHOTOS, default=list)


class LinkBody(StrictSerializer):
    """Which item it is about."""

    item = Reference(Item, select=("club",))


class DismissBody(StrictSerializer):
    """Why there is no damage."""

    reason = serializers.CharField(max_length=500)


class ReportRow(serializers.Serializer[Any]):
    """A report as it came in, how bad it counts, and what became of it. `item` is null while nobody has found it."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    item = serializers.UUIDField(allow_null=True)
    serial = serializers.CharField(allow_blank=True)
    tag = serializers.CharField(allow_blank=True)
    seen_at = serializers.DateTimeField()
    received_at = serializers.DateTimeField()
    device_at = serializers.DateTimeField(allow_null=True)
    clock_ahead_seconds = serializers.IntegerField(allow_null=True)
    reported_by = serializers.CharField(allow_null=True)
    description = serializers.CharField()
    severity = WordField(LooksLike, help_text="As the reporter saw it.")
    counts_as = WordField(LooksLike, help_text="Raised where the description names what must not be worn.")
    state = WordField(ReportState)
    photos = serializers.ListField(child=serializers.UUIDField())
    decided_at = serializers.DateTimeField(allow_null=True)
    decided_by = serializers.CharField(allow_null=True)
    decided_reason = serializers.CharField(allow_blank=True)


class LikelyRow(serializers.Serializer[Any]):
    """An item that may be meant; 1 is the same writing but for dashes, blanks and zeros."""

    id = serializers.UUIDField()
    serial = serializers.CharField(allow_blank=True)
    tag = serializers.CharField(allow_blank=True)
    kind = WordField(Kind)
    model_name = serializers.CharField()
    size = serializers.CharField(allow_blank=True)
    whereabouts = WordField(Whereabouts)
    likeness = serializers.FloatField()


class ReportFilters(Filters):
    """By club, item, state, and when it was seen."""

    state = WordFilter(ReportState)
    seen_after = MomentFilter(field_name="seen_at", lookup_expr="gt")
    seen_before = MomentFilter(field_name="seen_at", lookup_expr="lt")

    class Meta:
        model = DamageReport
        fields = ("club", "item")


class DamageReports(BulkResource):
    """Damage reports. What looks dangerous stops its item at once, before anybody has looked, and alerts officers."""

    model = DamageReport
    resource = "damage-reports"
    row = ReportRow
    create_body = ReportBody
    filterset_class = ReportFilters
    ordering = ("-seen_at",)
    allow = {
        "read": READERS,
        "create": REPORTERS,
        "likely-items": READERS,
        "link": WRITERS,
        "review": WRITERS,
        "confirm": WRITERS,
        "dismiss": WRITERS,
    }
    people_only = frozenset({"dismiss"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything that is kept of it."""
        return report_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add its photographs, and who reported and decided by user name."""
        return with_photos(rows)

    def valid(self, body: type[StrictSerializer], sent: object, *, changing: bool = False) -> dict[str, Any]:
        """Read a body; of a report also whose it is: the item's club, else the only one that the sender reports to."""
        data = super().valid(body, sent, changing=changing)
        if body is ReportBody and "club" not in data:
            data["club"] = data["item"].club if data.get("item") else self._only_club()
        return data

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> DamageReport:
        """Keep it, and stop what it says is dangerous."""
        return report_damage(new=NewReport(id=id_, **data), stamp=stamp)

    @extend_schema(filters=False)
    @action(detail=True, methods=["get"], url_path="likely-items", answer=results_of(LikelyRow))
    def likely_items(self, request: Request, **_: str) -> Response:
        """The club's items in sight that may be meant by what was typed, best first: a person says which it is."""
        return Response({"results": likely_items(self.instance(), self.actor)})

    @act(body=LinkBody)
    def link(self, instance: DamageReport, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Say which item it is about; that is stopped as if the report had named it."""
        if data["item"].club_id != instance.club_id:
            raise InvalidInputError.at("/item", "there is no such item that you may see", "unknown_id")
        link_report(report=instance, item=data["item"], stamp=stamp)

    @act()
    def review(self, instance: DamageReport, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Somebody is on it."""
        review_report(report=instance, stamp=stamp)

    @act()
    def confirm(self, instance: DamageReport, data: Mapping[str, Any], stamp: Stamp) -> None:
        """The damage is real: its item stays stopped until it was inspected in full."""
        confirm_report(report=instance, stamp=stamp)

    @act(body=DismissBody)
    def dismiss(self, instance: DamageReport, data: Mapping[str, Any], stamp: Stamp) -> None:
        """There is none: the report's own hold ends, by another person or after a recorded look, and no other hold."""
        dismiss_report(report=instance, reason=data["reason"], stamp=stamp)

    def _only_club(self) -> Club:
        clubs: list[Club] = list(Club.objects.reportable_by(self.actor).order_by("id")[:2])
        if len(clubs) != 1:
            raise InvalidInputError.at("/club", "Name the club: you report to several.", "required")
        return clubs[0]
