"""`audits/`: all gear in use by its age, and by the seasons in which it reaches its limits. One statement each."""

import re
from datetime import date
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters, WordFilter
from gearlife.api.reading import ReadingView
from gearlife.api.words import WordField
from gearlife.domain.access import READERS
from gearlife.domain.ages import By, Made
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.partial_dates import EARLIEST_YEAR
from gearlife.domain.vocabulary import Anchor, Effect, Kind, Whereabouts
from gearlife.models import Item
from gearlife.queries import audits

LATEST_YEAR = 2100
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_CODE = re.compile(r"[-\w]{1,40}", re.ASCII)

BY = OpenApiParameter(
    "by",
    {"type": "array", "items": {"type": "string", "enum": [each.value for each in By]}, "uniqueItems": True},
    style="form",
    explode=False,
    description="What the gear is told apart by, separated by commas: `by=club,kind`. Without it all is one group.",
)
ON = OpenApiParameter(
    "on",
    {"type": "string", "format": "date", "pattern": r"^(19\d\d|20\d\d|2100)-"},
    description=f"The day it is asked for, {EARLIEST_YEAR} to {LATEST_YEAR}; today where none is given. The gear is "
    "that of today, whatever the day.",
)
CODE = OpenApiParameter(
    "code", {"type": "string", "pattern": r"^[-a-zA-Z0-9_]{1,40}$"}, description="One limit, by its rule's code."
)


class AuditFilters(Filters):
    """By club, team, kind, model and place; ids of others give an empty answer."""

    kind = WordFilter(Kind)
    whereabouts = WordFilter(Whereabouts)

    class Meta:
        model = Item
        fields = ("club", "team", "model")


class GroupRow(serializers.Serializer[Any]):
    """One group. The members that name it are there where `by` asks for them; `by=model` gives the kind as well."""

    club = serializers.UUIDField(required=False)
    club_name = serializers.CharField(required=False)
    team = serializers.UUIDField(required=False, allow_null=True, help_text="Null: of no team.")
    team_name = serializers.CharField(required=False, allow_null=True)
    kind = WordField(Kind, required=False)
    model = serializers.UUIDField(required=False)
    model_name = serializers.CharField(required=False)
    manufacturer_name = serializers.CharField(required=False)
    items = serializers.IntegerField(help_text="How many items.")


class AgeRow(GroupRow):
    """So many items of one age."""

    years = serializers.IntegerField(
        allow_null=True,
        help_text="Whole years since manufacture, from the earliest day that the recorded date may mean. What was made "
        "on 29 February is a year older on 28 February of an ordinary year, as every limit counts.",
    )
    made = WordField(
        Made, help_text="`unknown`: no date is recorded; `later`: made after the day asked for. Else `known`."
    )


class AgeAnswer(serializers.Serializer[Any]):
    """All gear in use (neither retired nor disposed of) by whole years since manufacture."""

    on = serializers.DateField()
    items = serializers.IntegerField(help_text="Of all groups together.")
    without_date = serializers.IntegerField(help_text="Of these, without any date of manufacture.")
    results = AgeRow(many=True)


class LimitRow(GroupRow):
    """So many items that reach one limit in one season."""

    code = serializers.CharField(help_text="The rule's; `made_on` is the missing date of manufacture.")
    anchor = WordField(Anchor, help_text="The event that the limit counts from.")
    effect = WordField(Effect)
    season = serializers.IntegerField(
        allow_null=True,
        help_text="The first season of the club whose last game is on or after the day on which the limit falls; a "
        "calendar year where none was entered. Null: it counts from a date that is not known.",
    )
    reached = serializers.BooleanField(help_text="Whether that day has come; out of season no rhythm of the season.")
    stale = serializers.IntegerField(help_text="Of these, items whose limits were reckoned by an older policy.")


class LimitAnswer(serializers.Serializer[Any]):
    """What reaches which limit in which season; an item counts once for each limit and season."""

    on = serializers.DateField()
    items = serializers.IntegerField(help_text="All gear in use that was asked about.")
    without_limit = serializers.IntegerField(help_text="Of these, without any such limit.")
    stale_items = serializers.IntegerField(
        help_text="Of these, items whose limits have not been reckoned anew since the policy last changed: what is "
        "said of them may be out of date until that is done, which happens by itself."
    )
    results = LimitRow(many=True)


class Audit(ReadingView):
    """The base of both: who may ask, and how."""

    model = Item
    filterset_class = AuditFilters
    pagination_class = None
    allow = {"audit": READERS}

    @property
    def query_parameters(self) -> frozenset[str]:
        """What is read beside the filters."""
        return frozenset({"by", "on"})

    def items(self) -> Any:  # noqa: ANN401 - an ItemQuerySet
        """The items asked about, as far as the actor sees them."""
        return self.filter_queryset(self.get_queryset())

    def by(self) -> list[By]:
        """What they are told apart by; InvalidInputError for an unknown or doubled word."""
        words = self.request.query_params.get("by", "")
        asked = words.split(",") if words else []
        if len(set(asked)) != len(asked) or not set(asked) <= set(By):
            raise _misfit("by", f"write some of {', '.join(By)}, each once, separated by commas")
        return [By(word) for word in asked]

    def on(self) -> date:
        """The day asked for, else today on the actor's calendar; InvalidInputError when it is none."""
        text = self.request.query_params.get("on")
        return self.stamp().day if text is None else _day(text)


class AgeAudit(Audit):
    """How old the gear is."""

    @extend_schema(operation_id="audits_age", parameters=[BY, ON], filters=True, responses=AgeAnswer)
    def audit(self, request: Request) -> Response:
        """Count the gear in use by whole years since manufacture; without a date it is counted as such."""
        return Response(audits.ages(self.items(), self.by(), self.on()))


class LimitAudit(Audit):
    """What reaches which limit, and when."""

    @property
    def query_parameters(self) -> frozenset[str]:
        """One limit may be asked for alone."""
        return super().query_parameters | {"code"}

    @extend_schema(operation_id="audits_certification", parameters=[BY, ON, CODE], filters=True, responses=LimitAnswer)
    def audit(self, request: Request) -> Response:
        """Count the gear in use by limit and by the season in which it is reached, what is reached included."""
        code = request.query_params.get("code", "")
        if code and not _CODE.fullmatch(code):
            raise _misfit("code", "write a rule's code: letters, figures, hyphens and underscores, at most 40")
        return Response(audits.limits(self.items(), self.by(), self.on(), code))


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        day = None
    if day is None or not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
        raise _misfit("on", f"write a day as 2027-08-15, of the years {EARLIEST_YEAR} to {LATEST_YEAR}")
    return day


def _misfit(name: str, words: str) -> InvalidInputError:
    return InvalidInputError("the query cannot be taken as it is", faults=[Fault(words, f"?{name}")])
