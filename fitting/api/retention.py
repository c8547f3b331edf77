"""`retention-rules/`: how long what is known of persons is kept, and what would go today."""

from collections.abc import Mapping
from datetime import date
from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework import serializers

from fitting.domain.retention import AFTER, FEWEST_MONTHS, MOST_MONTHS, OLDEST, After, Kept
from fitting.models import RetentionRule
from fitting.operations.retention import change_rule, due_of
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import ADMINISTRATORS, Stamp
from gearlife.domain.vocabulary import Mark, Role


class RetentionRow(serializers.Serializer[Any]):
    """One class: `months` after the event `after`; of an identity, not before the year in which one is `until_age`."""

    id = serializers.UUIDField()
    of = WordField(Kept)
    months = serializers.IntegerField()
    after = WordField(After)
    until_age = serializers.IntegerField(allow_null=True)
    source = serializers.CharField()  # type: ignore[assignment] # the member's name, not the field's option
    mark = WordField(Mark)


class RetentionTimes(StrictSerializer):
    """How long."""

    months = serializers.IntegerField(min_value=FEWEST_MONTHS, max_value=MOST_MONTHS)
    until_age = serializers.IntegerField(
        min_value=1, max_value=OLDEST, required=False, allow_null=True, help_text="Counts for `identity` alone."
    )


class RetentionChange(RetentionTimes):
    """How long, and whence that is."""

    source = serializers.CharField(max_length=400)  # type: ignore[assignment] # as above


class ClubDue(serializers.Serializer[Any]):
    """What would go in one club, in numbers."""

    club = serializers.UUIDField()
    day = serializers.DateField()
    measurements = serializers.IntegerField()
    fit_details = serializers.IntegerField()
    access_log = serializers.IntegerField()
    identity = serializers.IntegerField()
    left_alone = serializers.IntegerField(
        help_text="Players whose time has come, with gear out or an incident open on gear that they wore."
    )


class DueDocument(serializers.Serializer[Any]):
    """What would go by the next run, with this rule changed as asked; nothing is written."""

    clubs = ClubDue(many=True)


class RetentionRules(Resource):
    """One rule for each class; every organisation has all of them, and changes their times."""

    model = RetentionRule
    resource = "retention-rules"
    row = RetentionRow
    change_body = RetentionChange
    ordering = ("of",)
    allow: ClassVar[Mapping[str, frozenset[Role]]] = {
        "read": ADMINISTRATORS | {Role.AUDITOR},
        "change": ADMINISTRATORS,
        "preview": ADMINISTRATORS | {Role.AUDITOR},
    }
    people_only = frozenset({"change"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The rule."""
        return queryset.values("id", "version", "of", "months", "until_age", "source", "mark")

    def complete(self, rows: Rows, day: date) -> Rows:
        """Say from which event the time runs."""
        return [row | {"after": AFTER[Kept(row["of"])].value} for row in rows]

    def change_row(self, instance: RetentionRule, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Keep it longer or shorter."""
        kept = {name: getattr(instance, name) for name in ("months", "until_age", "source")}
        change_rule(rule=instance, stamp=stamp, **(kept | dict(data)))

    @act(body=RetentionTimes, answer=DueDocument)
    def preview(self, instance: RetentionRule, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """What would go by the next run if this class were kept so long: a dry run, by club and class."""
        instance.months = data["months"]
        instance.until_age = data.get("until_age", instance.until_age)
        found = due_of(instance.organisation_id, at=stamp.at, instead=instance.as_period())
        return {
            "clubs": [
                {"club": due.club.id, "day": due.day, "left_alone": due.left_alone}
                | {of.value: due.counts[of] for of in Kept}
                for due in found
            ]
        }
