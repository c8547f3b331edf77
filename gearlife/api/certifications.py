"""`certifications/`: what a maker or a licensed firm stated of one serial."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, WordFilter
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.serializers import DayField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.certificates import misfits
from gearlife.domain.vocabulary import CertificationKind, Evidence, Kind, LabelYearMeans
from gearlife.models import Certification, Item
from gearlife.operations.certifications import NewCertification, certify

FIRST_YEAR, LAST_YEAR = 1900, 9998


class CertificationRow(serializers.Serializer[Any]):
    """A certification; clocks count from `counts_from`, the earliest day on which it may have been given."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    kind = WordField(CertificationKind, help_text="`reconditioning` is recorded and moves no clock.")
    certified_on = serializers.DateField(allow_null=True)
    label_year = serializers.IntegerField(allow_null=True)
    label_year_means = WordField(LabelYearMeans)
    counts_from = serializers.DateField()
    firm = serializers.CharField()
    evidence = WordField(Evidence)
    recorded_at = serializers.DateTimeField()


class CertificationBody(StrictSerializer):
    """A certification to record: its day, or the year on its label and what that year means."""

    item = Reference(Item, select=("club",))
    kind = WordField(CertificationKind)
    certified_on = DayField(required=False, allow_null=True)
    label_year = serializers.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False, allow_null=True)
    label_year_means = WordField(LabelYearMeans, required=False)
    firm = serializers.CharField(max_length=120, required=False, allow_blank=True)
    evidence = WordField(Evidence, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """A recertification is a licensed firm's, of a helmet."""
        kind, of = CertificationKind(attrs["kind"]), Kind(attrs["item"].kind)
        faults = {fault.pointer[1:]: fault.detail for fault in misfits(kind, of=of, firm=attrs.get("firm", ""))}
        if faults:
            raise serializers.ValidationError(faults)
        return attrs


class CertificationFilters(Filters):
    """By item and kind."""

    kind = WordFilter(CertificationKind)

    class Meta:
        model = Certification
        fields = ("item",)


class Certifications(Resource):
    """Certifications: recorded, never changed. Only a recertification moves the certification's clock."""

    model = Certification
    resource = "certifications"
    row = CertificationRow
    create_body = CertificationBody
    filterset_class = CertificationFilters
    ordering = ("-counts_from",)
    allow = {"read": READERS, "create": WRITERS}
    # A certification may lift a stop, and a device never does.
    people_only = frozenset({"create"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """What was stated, and how it is known."""
        stated = ("kind", "certified_on", "label_year", "label_year_means", "counts_from", "firm", "evidence")
        return queryset.values("id", "version", "item", *stated, "recorded_at")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Certification:
        """Record it."""
        stated = {name: value for name, value in data.items() if name != "item"}
        return certify(item=data["item"], new=NewCertification(id=id_, **stated), stamp=stamp)
