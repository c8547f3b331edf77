"""`assignments/`: who has what; issuing asks the gate, and what is worn already is recorded past it."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from fitting.domain.loans import overdue_at
from fitting.domain.vocabulary import RecordedAs
from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, record_worn, return_item
from fitting.queries.rows import assignment_columns
from gearlife.api import clock
from gearlife.api.bulk import BulkResource
from gearlife.api.filters import Filters, FlagFilter, IdFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import act
from gearlife.api.serializers import AwareDateTimeField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item

MOST_PARTS = 20


class ReasonRow(serializers.Serializer[Any]):
    """One thing that spoke against issuing it."""

    code = serializers.CharField()
    detail = serializers.CharField()


class AssignmentRow(serializers.Serializer[Any]):
    """A player has an item, or had it until `returned_at`."""

    id = serializers.UUIDField()
    player = serializers.UUIDField()
    item = serializers.UUIDField()
    kind = WordField(Kind)
    loan = serializers.BooleanField()
    recorded_as = WordField(RecordedAs)
    issued_at = serializers.DateTimeField()
    returned_at = serializers.DateTimeField(allow_null=True)
    overdue_at = serializers.DateTimeField(
        allow_null=True, help_text="Of a loan that is out: the noon, by its club's clock, from which it is asked for."
    )
    overdue = serializers.BooleanField(help_text="Whether that noon has passed: asked now, whatever alerts say.")
    replaces = serializers.UUIDField(allow_null=True)
    condition_at_issue = serializers.CharField()
    condition_at_return = serializers.CharField()
    missing_parts = serializers.ListField(child=serializers.CharField(), help_text="Parts that it came back without.")
    could_not_be_issued = serializers.BooleanField(help_text="Recorded as worn although the gate would have refused.")
    reasons_against = ReasonRow(many=True)
    warnings = ReasonRow(many=True, help_text="What was said when it was handed out all the same: no fit, say.")
    recorded_at = serializers.DateTimeField()


class AssignmentBody(StrictSerializer):
    """An item for a player; `already_worn` records a fact, and is not refused for what speaks against the item."""

    player = Reference(Player, select=("club", "team"))
    item = Reference(Item, select=("club",))
    kind = WordField(Kind, required=False, help_text="The item says it; given, it must agree.")
    loan = serializers.BooleanField(required=False, default=False)
    recorded_as = WordField(RecordedAs, required=False, default=RecordedAs.ISSUED.value)
    issued_at = AwareDateTimeField(required=False, allow_null=True, default=None)
    replaces = Reference(
        Assignment,
        select=("item__club",),
        required=False,
        allow_null=True,
        default=None,
        help_text="The same player's assignment of the same kind, which ends in the same act.",
    )
    condition_at_issue = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The kind is the item's."""
        kind = attrs.pop("kind", None)
        if kind and kind != attrs["item"].kind:
            raise serializers.ValidationError({"kind": [f"the item is of another kind, {attrs['item'].kind}"]})
        return attrs


class Returned(StrictSerializer):
    """When it came back, in what condition and without which parts; now where no moment is given."""

    returned_at = AwareDateTimeField(required=False, allow_null=True, default=None)
    condition_at_return = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    missing_parts = serializers.ListField(
        child=serializers.SlugField(max_length=40),
        required=False,
        default=list,
        max_length=MOST_PARTS,
        help_text="Their codes; one that nobody may wear it without stops the item in the same act.",
    )


class AssignmentFilters(Filters):
    """By item, player, club, team and kind; `open=true` gives what is out now, `loan=true` what was lent."""

    kind = WordFilter(Kind)
    loan = FlagFilter()
    open = FlagFilter(field_name="returned_at", lookup_expr="isnull")
    team = IdFilter(field_name="player__team")
    club = IdFilter(field_name="player__club")

    class Meta:
        model = Assignment
        fields = ("item", "player")


class Assignments(BulkResource):
    """Gear on players. A 409 gives every reason against issuing."""

    model = Assignment
    resource = "assignments"
    row = AssignmentRow
    create_body = AssignmentBody
    filterset_class = AssignmentFilters
    ordering = ("-issued_at",)
    allow = {"read": READERS, "create": WRITERS, "return": WRITERS}

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - an AssignmentQuerySet
        """The assignment whole."""
        return assignment_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Say of a loan that is out from when it is asked for, and whether it is."""
        at = clock.now()
        return [_with_noon(row, at) for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Assignment:
        """Issue the item, or record that it is worn."""
        facts = dict(data)
        item, replaces, recorded_as = facts.pop("item"), facts.pop("replaces"), facts.pop("recorded_as")
        new = NewAssignment(id=id_, item_id=item.id, replaces_id=replaces.id if replaces else None, **facts)
        if recorded_as == RecordedAs.ALREADY_WORN:
            return record_worn(new=new, stamp=stamp)
        return issue(new=new, stamp=stamp)

    @act(body=Returned)
    def return_(self, instance: Assignment, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Take it back into the room; returned already, nothing changes."""
        return_item(
            assignment=instance,
            at=data["returned_at"],
            condition=data["condition_at_return"],
            missing_parts=data["missing_parts"],
            stamp=stamp,
        )


def _with_noon(row: Row, at: datetime) -> Row:
    zone = row.pop("timezone")
    is_out = row["loan"] and row["returned_at"] is None
    asked_from = overdue_at(row["issued_at"], zone) if is_out else None
    overdue = bool(asked_from and asked_from <= at)
    # The noon passes while nobody writes.
    version = f"{row['version']}.overdue" if overdue else row["version"]
    return row | {"version": version, "overdue_at": asked_from, "overdue": overdue}
