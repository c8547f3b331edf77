"""`alerts/`: what wants a hand, those that cannot wait first."""

from collections.abc import Mapping
from datetime import date
from http import HTTPStatus
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.clock import now
from gearlife.api.filters import Filters, FlagFilter, IdFilter, TextFilter, WordFilter
from gearlife.api.pagination import KeysetPagination
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import AwareDateTimeField, DayField, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Actor, Stamp
from gearlife.domain.vocabulary import Advice, Severity, Stage
from gearlife.models import Alert
from gearlife.operations import alerts
from gearlife.queries.alerts import alert_columns, complete_alerts
from gearlife.queries.sweeps import sweep_age


class AlertRow(serializers.Serializer[Any]):
    """One concern about one item, player or club; it closes by itself when its cause is gone, and in no other way."""

    id = serializers.UUIDField()
    kind = serializers.CharField()
    advice = WordField(Advice)
    severity = WordField(Severity)
    stage = WordField(Stage)
    item = serializers.UUIDField(allow_null=True)
    player = serializers.UUIDField(allow_null=True)
    club = serializers.UUIDField()
    team = serializers.UUIDField(allow_null=True, help_text="The item's team.")
    falls_on = serializers.DateField(allow_null=True, help_text="Null: a date that is not known.")
    because = serializers.CharField(help_text="Why, in words, with the rule and its source.")
    opened_at = serializers.DateTimeField()
    closed_at = serializers.DateTimeField(allow_null=True)
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    acknowledged_by = serializers.CharField(allow_null=True)
    acknowledged_note = serializers.CharField()
    told_whom = serializers.CharField()
    told_at = serializers.DateTimeField(allow_null=True)
    put_off_until = serializers.DateField(allow_null=True)
    put_off_reason = serializers.CharField()
    put_off_by = serializers.CharField(allow_null=True)


class Noticed(StrictSerializer):
    """What was done about it, and who was told."""

    note = serializers.CharField(max_length=500, required=False, allow_blank=True, default="")
    told_whom = serializers.CharField(max_length=80, required=False, allow_blank=True, default="")
    told_at = AwareDateTimeField(required=False, allow_null=True, default=None)


class PutOff(StrictSerializer):
    """Until when, and why."""

    until = DayField()
    reason = serializers.CharField(max_length=500)


class AlertFilters(Filters):
    """By subject, sort and stage; `open=false` gives the closed ones."""

    player = IdFilter(field_name="player_id")
    team = IdFilter(field_name="item__team")
    kind = TextFilter()
    severity = WordFilter(Severity)
    advice = WordFilter(Advice)
    stage = WordFilter(Stage)
    open = FlagFilter(field_name="closed_at", lookup_expr="isnull")

    class Meta:
        model = Alert
        fields = ("item", "club")


class AlertPages(KeysetPagination):
    """Pages that say beside their results how old the last complete sweep is."""

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """The page in the OpenAPI document."""
        page = super().get_paginated_response_schema(schema)
        told = {
            "last_complete_sweep_at": {"type": ["string", "null"], "format": "date-time"},
            "sweep_age_hours": {"type": ["number", "null"], "description": "Over 26: alerts may be missing."},
        }
        return {**page, "required": [*page["required"], *told], "properties": {**page["properties"], **told}}


class Alerts(Resource):
    """Alerts; the list gives the open ones unless `open=false` is asked for."""

    model = Alert
    resource = "alerts"
    row = AlertRow
    filterset_class = AlertFilters
    ordering = ("urgency", "falls_on")
    pagination_class = AlertPages
    allow = {"read": READERS, "acknowledge": WRITERS, "put-off": WRITERS}

    def visible(self, actor: Actor) -> QuerySet[Any]:
        """What an actor may see; a list is of open alerts unless it says which."""
        visible = super().visible(actor)
        unsaid = self.action == "list" and "open" not in self.request.query_params
        return visible.filter(closed_at__isnull=True) if unsaid else visible

    def finalize_response(self, request: Request, response: Response, *args: Any, **kwargs: Any) -> Response:
        """Say how old the last complete sweep is: what time alone has brought since may be missing.

        A list says it beside its results; every answer says it in its headers, which no ETag covers.
        """
        if response.status_code < HTTPStatus.BAD_REQUEST and isinstance(request.user, Actor):
            age = sweep_age(now(), request.user.organisation_id)
            if self.action == "list":
                response.data.update(last_complete_sweep_at=age.last, sweep_age_hours=age.hours)
            response.headers["Last-Complete-Sweep-At"] = age.last.isoformat() if age.last else "never"
            response.headers["Sweep-Age-Hours"] = "never" if age.hours is None else str(age.hours)
        return super().finalize_response(request, response, *args, **kwargs)

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - an AlertQuerySet
        """The alert whole."""
        return alert_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Null where a date is not known."""
        return complete_alerts(rows)

    @act(body=Noticed)
    def acknowledge(self, instance: Alert, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Somebody has taken notice: it stays open while its cause persists."""
        alerts.acknowledge(alert=instance, stamp=stamp, **data)

    @act(body=PutOff)
    def put_off(self, instance: Alert, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Put it off to a day, with a reason; gear that must not be worn cannot be put off."""
        alerts.put_off(alert=instance, stamp=stamp, **data)
