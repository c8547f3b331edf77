"""`policy-rules/`: every limit and rhythm as data; ended and begun, never changed in place."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import DayField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import ADMINISTRATORS, READERS, Stamp
from gearlife.domain.bounds import LARGEST_AMOUNT, LONGEST_LEAD, LONGEST_REASON
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Kind, Mark, Whereabouts
from gearlife.models import GearModel, PolicyRule
from gearlife.operations import policy

MARKS = tuple(mark.value for mark in Mark)
COLUMNS = (
    *("id", "version", "code", "kind", "model", "anchor", "counts", "amount", "comparator", "in_season_only"),
    *("whereabouts", "effect", "lead_days", "source", "mark", "in_force_from", "in_force_to"),
)
ACTS = ("preview", "override", "preview-override", "end", "preview-end")
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
    reason = serializers.CharField(max_length=LONGEST_REASON)


class RulePreviewed(RuleBody):
    """The same; nothing is saved, so no reason is needed yet."""

    reason = serializers.CharField(max_length=LONGEST_REASON, required=False)


class Overridden(StrictSerializer):
    """What the rule is from a day on, and why; what is not named stays as it is."""

    in_force_from = DayField(help_text="The first day of the new rule; the old one ends on the day before.")
    in_force_to = DayField(required=False, allow_null=True)
    counts = WordField(Counts, required=False)
    amount = serializers.IntegerField(min_value=1, max_value=LARGEST_AMOUNT, allow_null=True, required=False)
    comparator = WordField(Comparator, required=False)
    in_season_only = serializers.BooleanField(required=False)
    whereabouts = serializers.ListField(child=WordField(Whereabouts), max_length=5, required=False)
    effect = WordField(Effect, required=False)
    lead_days = serializers.IntegerField(min_value=0, max_value=LONGEST_LEAD, required=False)
    source = serializers.CharField(max_length=400)  # type: ignore[assignment] # declared fields leave the class
    mark = serializers.ChoiceField(choices=MARKS)
    reason = serializers.CharField(max_length=LONGEST_REASON)


class OverridePreviewed(Overridden):
    """The same; nothing is saved, so no reason is needed yet."""

    reason = serializers.CharField(max_length=LONGEST_REASON, required=False)


class Ended(StrictSerializer):
    """The last day on which the rule applies, and why it ends."""

    on = DayField()
    reason = serializers.CharField(max_length=LONGEST_REASON)


class EndPreviewed(Ended):
    """The same; nothing is saved, so no reason is needed yet."""

    reason = serializers.CharField(max_length=LONGEST_REASON, required=False)


class PreviewCounts(serializers.Serializer[Any]):
    """How many items a change of rules would stop, and how many it would not stop any more."""

    stopped = serializers.IntegerField(help_text="Not stopped now, and stopped by the change.")
    stopped_worn = serializers.IntegerField(help_text="Of these, with a player now.")
    stopped_in_stock = serializers.IntegerField()
    no_longer_stopped = serializers.IntegerField(help_text="Stopped now by what the change takes away.")
    no_longer_stopped_worn = serializers.IntegerField()
    no_longer_stopped_in_stock = serializers.IntegerField()
    no_longer_issuable = serializers.IntegerField(
        help_text="In stock, and newly barred by a limit that falls up to the season's last game; the stopped included."
    )
    issuable_again = serializers.IntegerField(help_text="In stock, and no longer barred by any hold or limit.")


class KindCounts(PreviewCounts):
    """The same of one kind of gear."""

    kind = WordField(Kind)


class PreviewRow(PreviewCounts):
    """What a change of rules would do; nothing was saved, and the ledger has nothing of it."""

    as_of = serializers.DateField(help_text="The first day on which the change is felt; today where that has passed.")
    words = serializers.CharField()
    by_kind = KindCounts(many=True)


class RuleFilters(Filters):
    """By code, kind, model and effect."""

    kind = WordFilter(Kind)
    effect = WordFilter(Effect)

    class Meta:
        model = PolicyRule
        fields = ("code", "model")


class PolicyRules(Resource):
    """Policy rules. Changing one reckons the limits of all gear anew, and the ledger keeps the reason."""

    model = PolicyRule
    resource = "policy-rules"
    row = RuleRow
    create_body = RuleBody
    filterset_class = RuleFilters
    ordering = ("code", "in_force_from")
    allow = {"read": READERS, "create": ADMINISTRATORS} | dict.fromkeys(ACTS, ADMINISTRATORS)
    people_only = frozenset({"create", *ACTS})

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
        return policy.add_rules(rules=[_rule(data, id=id_)], reason=data["reason"], stamp=stamp)[0]

    @action(detail=False, methods=["post"], body=RulePreviewed, answer=PreviewRow)
    def preview(self, request: Request) -> Response:
        """What adding this rule would do: how many items it would stop, how many of them worn. Nothing is saved."""
        data = self.valid(RulePreviewed, request.data)
        stamp = self.permitted(data)
        return Response(_previewed(policy.addition(rules=[_rule(data)], stamp=stamp), stamp))

    @act(body=Overridden, answer=RuleRow)
    def override(self, instance: PolicyRule, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """Put the same rule otherwise in its place from a day on, in one act; answers the new rule."""
        new = policy.override_rule(rule=instance, changes=_changes(data), reason=data["reason"], stamp=stamp)
        row = self.rows([new.id])[new.id]
        row.pop("version")
        return row

    @act(body=OverridePreviewed, answer=PreviewRow)
    def preview_override(self, instance: PolicyRule, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """What overriding it so would do. Nothing is saved."""
        return _previewed(policy.override(rule=instance, changes=_changes(data), stamp=stamp), stamp)

    @act(body=Ended)
    def end(self, instance: PolicyRule, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Let it apply up to and with a day: a default is switched off so, and begun again by adding it."""
        policy.end_rule(rule=instance, on=data["on"], reason=data["reason"], stamp=stamp)

    @act(body=EndPreviewed, answer=PreviewRow)
    def preview_end(self, instance: PolicyRule, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """What ending it so would do. Nothing is saved."""
        return _previewed(policy.ending(rule=instance, on=data["on"], stamp=stamp), stamp)


def _rule(data: Mapping[str, Any], **more: Any) -> PolicyRule:
    return PolicyRule(**{name: value for name, value in _changes(data).items() if value is not None}, **more)


def _changes(data: Mapping[str, Any]) -> dict[str, Any]:
    """The body as a rule's columns; an end that is not given lies open."""
    given = {name: value for name, value in data.items() if name != "reason"}
    given |= {name: given[name].value for name in WORDS if given.get(name)}
    given |= {name: end for name, end in OPEN_ENDS.items() if name in given and given[name] is None}
    if "whereabouts" in given:
        given["whereabouts"] = sorted({place.value for place in given["whereabouts"]})
    return given


def _previewed(change: policy.RuleChange, stamp: Stamp) -> Row:
    counted = policy.preview(change=change, stamp=stamp)
    names = [str(name) for name in PreviewCounts().fields]
    by_kind = [{"kind": kind.value, **{name: counts[name] for name in names}} for kind, counts in counted.by_kind()]
    totals = {name: counted.total(name) for name in names}
    return {"as_of": counted.as_of, "words": counted.words, **totals, "by_kind": by_kind}
