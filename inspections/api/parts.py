"""`pad-positions/`, `approved-parts/`, `faceguards/`, `part-policies/`: what makers and clubs say of parts."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, TextFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import ADMINISTRATORS, READERS, WRITERS, Stamp
from gearlife.domain.normal_form import normal_form
from gearlife.models import GearModel, OwnedQuerySet
from inspections.domain.parts import MOST_IN_A_POSITION, THICKEST_MM, PartSort
from inspections.models import ApprovedPart, PadPosition, PartPolicy
from inspections.operations import part_lists
from inspections.operations.part_lists import NewApproved, NewPosition

WRITTEN = {"read": READERS, "create": WRITERS, "change": WRITERS, "delete": WRITERS}


class PositionChange(StrictSerializer):
    """What may change of a position."""

    label = serializers.CharField(max_length=80)  # type: ignore[assignment] # declared fields leave the class
    count = serializers.IntegerField(min_value=1, max_value=MOST_IN_A_POSITION, required=False)
    required = serializers.BooleanField(required=False)  # type: ignore[assignment] # declared fields leave the class


class PositionBody(PositionChange):
    """A position of a model: its code, what it is called, what sort of part goes there."""

    model = Reference(GearModel)
    code = serializers.SlugField(max_length=40)
    sort = WordField(PartSort)


class PositionRow(serializers.Serializer[Any]):
    """A place for parts on a model, by the maker's booklet."""

    id = serializers.UUIDField()
    model = serializers.UUIDField()
    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class
    sort = WordField(PartSort)
    count = serializers.IntegerField()
    required = serializers.BooleanField()  # type: ignore[assignment] # declared fields leave the class


class PositionFilters(Filters):
    """By model and sort."""

    sort = WordFilter(PartSort)

    class Meta:
        model = PadPosition
        fields = ("model",)


class PadPositions(Resource):
    """Where parts go on a model, how many, and whether it needs them. What is left without a needed part is stopped."""

    model = PadPosition
    resource = "pad-positions"
    row = PositionRow
    create_body = PositionBody
    change_body = PositionChange
    filterset_class = PositionFilters
    ordering = ("id",)
    allow = WRITTEN
    # A position that is no longer needed stops nothing any more.
    people_only = frozenset({"change", "delete"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        return queryset.values("id", "version", "model", "code", "label", "sort", "count", "required")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> PadPosition:
        """Add it."""
        return part_lists.add_position(new=NewPosition(id=id_, **data), stamp=stamp)

    def change_row(self, instance: PadPosition, data: Mapping[str, Any], stamp: Stamp) -> PadPosition:
        """Change it."""
        return part_lists.change_position(position=instance, changes=data, stamp=stamp)

    def delete_row(self, instance: PadPosition, stamp: Stamp) -> None:
        """Remove one that nothing was ever put into."""
        part_lists.remove_position(position=instance, stamp=stamp)


class ApprovedPartBody(StrictSerializer):
    """A part as the maker's booklet calls it; one of another size or thickness is another part."""

    position = Reference(PadPosition)
    part = serializers.CharField(max_length=80)
    maker = serializers.CharField(max_length=80, allow_blank=True, default="")
    size = serializers.CharField(max_length=24, allow_blank=True, default="")
    thickness_mm = serializers.FloatField(min_value=0, max_value=THICKEST_MM, allow_null=True, default=None)
    stated_in = serializers.CharField(max_length=120, allow_blank=True, default="")


class ApprovedPartRow(serializers.Serializer[Any]):
    """A part that the maker names for a position."""

    id = serializers.UUIDField()
    position = serializers.UUIDField()
    model = serializers.UUIDField()
    part = serializers.CharField()
    maker = serializers.CharField()
    size = serializers.CharField()
    thickness_mm = serializers.FloatField(allow_null=True)
    stated_in = serializers.CharField()


class PartFilter(TextFilter):
    """A part's name, compared by its normal form."""

    def filter(self, qs: OwnedQuerySet, value: str) -> OwnedQuerySet:
        """Case and outer blanks never matter."""
        return qs.filter(part_key=normal_form(value)) if value else qs


class ApprovedPartFilters(Filters):
    """By position and name."""

    part = PartFilter()

    class Meta:
        model = ApprovedPart
        fields = ("position",)


class ApprovedParts(Resource):
    """The makers' lists: what is on none of them needs a reason, and holds the item unless the league decided not."""

    model = ApprovedPart
    resource = "approved-parts"
    row = ApprovedPartRow
    create_body = ApprovedPartBody
    filterset_class = ApprovedPartFilters
    ordering = ("id",)
    allow = WRITTEN
    # A list that is longer stops less.
    people_only = frozenset({"create", "delete"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything, and of which model."""
        kept = ("id", "version", "position", "part", "maker", "size", "thickness_mm", "stated_in")
        return queryset.values(*kept, of_model=F("position__model"))

    def complete(self, rows: Rows, day: date) -> Rows:
        """Name the model as elsewhere."""
        return [row | {"model": row.pop("of_model")} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> ApprovedPart:
        """Add it."""
        return part_lists.approve_part(new=NewApproved(id=id_, **data), stamp=stamp)

    def delete_row(self, instance: ApprovedPart, stamp: Stamp) -> None:
        """Strike it from the list."""
        part_lists.strike_part(part=instance, stamp=stamp)


class PartPolicyBody(StrictSerializer):
    """Whether a part that the maker does not approve holds the item, and why it is decided so."""

    hold_unapproved = serializers.BooleanField()
    reason = serializers.CharField(max_length=200)


class PartPolicyRow(serializers.Serializer[Any]):
    """A decision; the newest counts, and before the first an unapproved part holds the item."""

    id = serializers.UUIDField()
    hold_unapproved = serializers.BooleanField()
    reason = serializers.CharField()
    decided_at = serializers.DateTimeField()
    decided_by = serializers.CharField(allow_null=True)


class PartPolicies(Resource):
    """What a part that the maker does not approve does: holds the item until somebody ends that, or is only noted."""

    model = PartPolicy
    resource = "part-policies"
    row = PartPolicyRow
    create_body = PartPolicyBody
    ordering = ("-decided_at",)
    allow = {"read": READERS, "create": ADMINISTRATORS}
    people_only = frozenset({"create"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        by = F("decided_by__username")
        return queryset.values("id", "version", "hold_unapproved", "reason", "decided_at", decided_by_name=by)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Say who decided by user name."""
        return [row | {"decided_by": row.pop("decided_by_name")} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> PartPolicy:
        """Decide."""
        return part_lists.decide_on_unapproved(id_=id_, stamp=stamp, **data)
