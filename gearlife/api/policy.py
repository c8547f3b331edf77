"""`policy-rules/`: every limit and rhythm as data; ended and begun, never changed in place."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.roles import ADMINISTRATORS, READERS
from gearlife.api.serializers import DayField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import Stamp
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Kind, Whereabouts
from gearlife.models import GearModel, PolicyRule
from gearlife.operations import policy

LARGEST_AMOUNT = 9999
LONGEST_LEAD = 3650
# Read in the published source; read second-hand; from memory; common practice without a source; computed.
MARKS = ("V", "V2", "M", "P", "C")
COLUMNS = (
    *("id", "version", "code", "kind", "model", "anchor", "counts", "amount", "comparator", "in_season_only"),
    *("whereabouts", "effect", "lead_days", "source", "mark", "in_force_from", "in_force_to"),
)
WORDS = ("kind", "anchor", "counts", "comparator", "effect")
OPEN_ENDS = {"in_force_from": UNKNOWN_DAY, "in_force_to": LAST_DAY}


class RuleRow(serializers.Serializer[Any]):
    """A rule: of rules with one code the most specific in force wins, of different codes all apply."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    kind = WordField(Kind, allow_null=True, help_text="Null: all gear.")
    model = serializers.UUIDField(allow_null=True, help_text="Null: every model.")
    anchor = WordField(Anchor, help_text="What it counts from.")
    counts = WordField(Counts)
    amount = serializers.IntegerField(allow_null=True, help_text="Null: the interval that the maker states.")
    comparator = WordField(Comparator, help_text="Whether it binds when the amount is reached or passed.")
    in_season_only = serializers.BooleanField()
    whereabouts = serializers.ListField(child=WordField(Whereabouts), help_text="Empty: wherever the item is.")
    effect = WordField(Effect)
    lead_days = serializers.IntegerField(help_text="How long before its fall it is announced.")
    source = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class
    mark = serializers.ChoiceField(choices=MARKS, help_text="How far the source was read.")
    in_force_from = serializers.DateField(allow_null=True, help_text="Null: from the beginning.")
    in_force_to = serializers.DateField(allow_null=True, help_text="Null: until it is ended.")


class RuleBody(StrictSerializer):
    """A rule to add, and why."""

    code = serializers.SlugField(max_length=40)
    kind = WordField(Kind, required=False, allow_null=True)
    model = Reference(GearModel, required=False, allow_null=True)
    anchor = WordField(Anchor)
    counts = WordField(Counts)
    amount = serializers.IntegerField(min_value=1, max_value=LARGEST_AMOUNT, allow_null=True)
    comparator = WordField(Comparator, required=False)
    in_season_only = serializers.BooleanField(required=False)
    whereabouts = serializers.ListField(child=WordField(Whereabouts), max_length=5, required=False)
    effect = WordField(Effect)
    lead_days = serializers.IntegerField(min_value=0, max_value=LONGEST_LEAD, required=False)
    source = serializers.CharField(max_length=400)  # type: ignore[assignment] # declared fields leave the class
    mark = serializers.ChoiceField(choices=MARKS)
    in_force_from = DayField(required=False, allow_null=True)
    in_force_to = DayField(required=False, allow_null=True)
    reason = serializers.CharField(max_length=500)


class Ended(StrictSerializer):
    """The last day on which the rule applies, and why it ends."""

    on = DayField()
    reason = serializers.CharField(max_length=500)


class RuleFilters(Filters):
    """By code, kind, model and effect."""

    kind = WordFilter(Kind)
    effect = WordFilter(Effect)

    class Meta:
        model = PolicyRule
        fields = ("code", "model")


class PolicyRules(Resource):
    """Policy rules. Adding or ending one recomputes the limits of all gear, and the ledger keeps the reason."""

    model = PolicyRule
    resource = "policy-rules"
    row = RuleRow
    create_body = RuleBody
    filterset_class = RuleFilters
    ordering = ("code", "in_force_from")
    allow = {"read": READERS, "create": ADMINISTRATORS, "end": ADMINISTRATORS}
    people_only = frozenset({"create", "end"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The rule whole."""
        return queryset.values(*COLUMNS)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Null where a rule names nothing or has no end."""
        for row in rows:
            row["kind"] = row["kind"] or None
            row.update({name: None for name, end in OPEN_ENDS.items() if row[name] == end})
        return rows

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> PolicyRule:
        """Add it."""
        given = {name: value for name, value in data.items() if name != "reason" and value is not None}
        words = {name: given[name].value for name in WORDS if name in given}
        places = {"whereabouts": sorted({place.value for place in given.get("whereabouts", ())})}
        rule = PolicyRule(id=id_, **given | words | places)
        return policy.add_rules(rules=[rule], reason=data["reason"], stamp=stamp)[0]

    @act(body=Ended)
    def end(self, instance: PolicyRule, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Let it apply up to and with a day."""
        policy.end_rule(rule=instance, on=data["on"], reason=data["reason"], stamp=stamp)
