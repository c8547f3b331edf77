"""Checklists: read by whoever looks gear over, revised by an administrator."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, WordFilter
from gearlife.api.permissions import EVERYBODY
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.serializers import StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import ADMINISTRATORS, Stamp
from gearlife.domain.vocabulary import Kind
from inspections.domain.vocabulary import Grade
from inspections.models import Checklist
from inspections.operations.checklists import add_revision

CODE = r"^[a-z][a-z0-9_]*$"
MARKS = ("V", "V2", "M", "P", "C")


class DefectBody(StrictSerializer):
    """A defect; a finding of it never counts as milder than `mildest`."""

    code = serializers.RegexField(CODE, max_length=40)
    label = serializers.CharField(max_length=120)  # type: ignore[assignment] # declared fields leave the class
    mildest = WordField(Grade)
    mark = serializers.ChoiceField(MARKS, default="P")
    ends_use = serializers.BooleanField(default=False)


class PointBody(StrictSerializer):
    """A point to look at; `label` and `help` are its words."""

    code = serializers.RegexField(CODE, max_length=40)
    label = serializers.CharField(max_length=120)  # type: ignore[assignment] # declared fields leave the class
    help = serializers.CharField(max_length=500, allow_blank=True, default="")
    mark = serializers.ChoiceField(MARKS, default="P")
    defects = DefectBody(many=True, max_length=40)


class ChecklistBody(StrictSerializer):
    """The next revision of a kind's checklist, whole."""

    kind = WordField(Kind)
    points = PointBody(many=True, max_length=60, allow_empty=False)


class ChecklistRow(serializers.Serializer[None]):
    """One revision. It never changes; an inspection names the one that it was made by."""

    id = serializers.UUIDField()
    kind = WordField(Kind)
    revision = serializers.IntegerField()
    points = PointBody(many=True)
    created_at = serializers.DateTimeField()


class ChecklistFilters(Filters):
    """By kind."""

    kind = WordFilter(Kind)

    class Meta:
        model = Checklist
        fields = ("kind",)


class Checklists(Resource):
    """What to look at, point by point; the newest revision first. A new one counts from then on, old ones stay."""

    model = Checklist
    resource = "checklists"
    row = ChecklistRow
    create_body = ChecklistBody
    filterset_class = ChecklistFilters
    ordering = ("-revision",)
    allow = {"read": EVERYBODY, "create": ADMINISTRATORS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        return queryset.values("id", "version", "kind", "revision", "points", "created_at")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Checklist:
        """Add the revision."""
        return add_revision(kind=data["kind"], points=data["points"], stamp=stamp, id=id_)
