"""What a client sends of an inspection, and what it is told."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from rest_framework import serializers

from fitting.api.replacements import ReplacementRow
from gearlife.api.schema import ProblemDocument
from gearlife.api.serializers import AwareDateTimeField, DayField, Reference, StrictSerializer, read_uuid
from gearlife.api.words import WordField
from gearlife.domain.vocabulary import Standing
from gearlife.models import Item
from inspections.domain.vocabulary import Depth, EnteredBy, Grade
from inspections.models import Checklist
from inspections.operations.inspect import NewFinding, NewInspection


class FetchedReference(Reference):
    """A reference that looks into `context["fetched"]` where a bulk request has fetched its rows at once."""

    def to_internal_value(self, data: str) -> Any:  # noqa: ANN401 - a row of `model`
        """The fetched row, else as any reference."""
        if "fetched" not in self.context:
            return super().to_internal_value(data)
        found = self.context["fetched"].get((self.model, read_uuid(data)))
        if found is None:
            self.fail("unknown_id", what=self.model._meta.verbose_name)
        return found


class FindingBody(StrictSerializer):
    """One fault: a checklist point by its code, a defect of it, how bad it is. Without a grade its mildest counts."""

    point = serializers.CharField(max_length=40)
    defect = serializers.CharField(max_length=40, allow_blank=True, default="")
    grade = WordField(Grade, required=False)
    fixed_here = serializers.BooleanField(default=False)
    part = serializers.CharField(max_length=80, allow_blank=True, default="")
    note = serializers.CharField(max_length=500, allow_blank=True, default="")
    deal_with_by = DayField(required=False, allow_null=True)


class InspectionBody(StrictSerializer):
    """One item looked over; points that are not listed had nothing found. Only `item` is needed when nothing was."""

    item = FetchedReference(Item, select=("club",))
    depth = WordField(Depth, default=Depth.LOOK)
    inspected_at = AwareDateTimeField(required=False)
    entered_by = WordField(EnteredBy, default=EnteredBy.TAPPED)
    findings = FindingBody(many=True, required=False, max_length=60)
    not_looked_at = serializers.ListField(child=serializers.CharField(max_length=40), required=False, max_length=60)
    checklist = FetchedReference(Checklist, required=False)
    looked_by = serializers.CharField(
        max_length=80, allow_blank=True, default="", help_text="Who looked, where that is not who records it."
    )
    not_seen = serializers.BooleanField(
        default=False,
        help_text="In `bulk/`: the item was not seen today. Nothing is recorded, it stays due; `not-seen/` notes it.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """What was not seen has nothing found."""
        if attrs["not_seen"] and (attrs.get("findings") or attrs.get("inspected_at")):
            raise serializers.ValidationError(
                {"not_seen": "An item that was not seen has neither findings nor a moment."}
            )
        return attrs


class FindingRow(serializers.Serializer[None]):
    """A fault as it was given, and as it counts."""

    id = serializers.UUIDField()
    point = serializers.CharField()
    defect = serializers.CharField()
    grade = WordField(Grade)
    counts_as = WordField(Grade)
    fixed_here = serializers.BooleanField()
    part = serializers.CharField()
    note = serializers.CharField()
    deal_with_by = serializers.DateField(allow_null=True)


class WornByRow(serializers.Serializer[None]):
    """Who wears it."""

    player = serializers.UUIDField()
    label = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class


class InspectionRow(serializers.Serializer[None]):
    """An inspection. What it has led to is told in the answer to its creation only; later the item itself tells it."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    depth = WordField(Depth)
    inspected_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    device_at = serializers.DateTimeField(
        allow_null=True, help_text="What the device's clock said, where it is known to be off."
    )
    clock_ahead_seconds = serializers.IntegerField(
        allow_null=True, help_text="How far that clock was ahead of ours; negative: behind."
    )
    recorded_by = serializers.CharField(allow_null=True)
    entered_by = WordField(EnteredBy)
    looked_by = serializers.CharField()
    checklist = serializers.UUIDField()
    findings = FindingRow(many=True)
    not_looked_at = serializers.ListField(child=serializers.CharField())
    outcome = WordField(Grade)
    holds = serializers.ListField(child=serializers.UUIDField(), help_text="The holds that it opened, ended ones too.")
    item_standing = WordField(Standing, required=False)
    worn_by = WornByRow(required=False, allow_null=True)
    replacements = ReplacementRow(many=True, required=False)


class EntryResult(serializers.Serializer[None]):
    """What became of one entry; of an item that was not seen, that it was not, and nothing else."""

    status = serializers.IntegerField()
    id = serializers.UUIDField(allow_null=True)
    body = InspectionRow(required=False)
    problem = ProblemDocument(required=False)
    item = serializers.UUIDField(required=False)
    not_seen = serializers.BooleanField(required=False)


class EntryResults(serializers.Serializer[None]):
    """One result an entry, in order."""

    results = EntryResult(many=True)


def new_inspection(id_: UUID, data: Mapping[str, Any]) -> NewInspection:
    """A validated body as the operation takes it."""
    return NewInspection(
        item=data["item"],
        depth=data["depth"],
        inspected_at=data.get("inspected_at"),
        findings=[NewFinding(**finding) for finding in data.get("findings", ())],
        not_looked_at=data.get("not_looked_at", ()),
        entered_by=data["entered_by"],
        checklist=data.get("checklist"),
        looked_by=data["looked_by"],
        id=id_,
    )
