"""`fits/`: how items were fitted on players, check by check; accepted only when every required check passes."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.domain.fits import CHECKS, MOST_TRIES, Check, Remedy, Tried, Try
from fitting.models import Fit, Measurement, Player
from fitting.operations.fits import NewFit, record_fit
from gearlife.api.filters import Filters, FlagFilter, IdFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.api.serializers import AwareDateTimeField, Reference, StrictSerializer
from gearlife.api.words import PersonField, WordField
from gearlife.domain.access import READERS, WRITERS, Actor, Stamp
from gearlife.domain.vocabulary import Kind, Mark
from gearlife.models import Item

# Facts of the person, as measurements are.
OFFICERS_SEE = "Null but for officers of the club and administrators."
OF_THE_PERSON = ("pads_and_air", "hairstyle", "measurement")
FIRST_TRY, AFTER_THE_FIRST = 1, 2


class FitCheck(StrictSerializer):
    """One check of one try: the first is try 1. A check that is not named was not asked."""

    check = serializers.SlugField(max_length=40)
    passed = serializers.BooleanField()
    attempt = serializers.IntegerField(
        min_value=FIRST_TRY, max_value=MOST_TRIES, required=False, default=FIRST_TRY, help_text="Which try: 1, 2, ..."
    )


class FitRemedy(StrictSerializer):
    """What was done about a check that had failed in the try before `attempt`."""

    check = serializers.SlugField(max_length=40)
    remedy = WordField(Remedy)
    attempt = serializers.IntegerField(
        min_value=AFTER_THE_FIRST, max_value=MOST_TRIES, required=False, default=AFTER_THE_FIRST
    )


class FitBody(StrictSerializer):
    """One fitting. `accepted` may be left out; given, it must be what the checks say."""

    player = Reference(Player, select=("club", "team"))
    item = Reference(Item, select=("club",))
    checks = FitCheck(many=True)
    remedies = FitRemedy(many=True, required=False, default=list)
    accepted = serializers.BooleanField(required=False, allow_null=True, default=None)
    fitted_at = AwareDateTimeField(required=False, allow_null=True, default=None)
    fitted_by = PersonField(required=False, help_text="A user name; whoever asks where it is left out.")
    pads_and_air = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")
    hairstyle = serializers.CharField(max_length=80, required=False, allow_blank=True, default="")
    measurement = Reference(Measurement, select=("player__club",), required=False, allow_null=True, default=None)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The tries in order, none left out."""
        results: dict[int, dict[str, bool]] = defaultdict(dict)
        for each in attrs.pop("checks"):
            if each["check"] in results[each["attempt"]]:
                raise serializers.ValidationError({"checks": [f"`{each['check']}` stands twice in one try"]})
            results[each["attempt"]][each["check"]] = each["passed"]
        remedies = attrs.pop("remedies")
        last = max([*results, *(each["attempt"] for each in remedies)], default=0)
        done = {
            number: [Tried(r["check"], r["remedy"]) for r in remedies if r["attempt"] == number]
            for number in range(1, last + 1)
        }
        return attrs | {"tries": [Try(results[number], done[number]) for number in range(1, last + 1)]}


class FitRow(serializers.Serializer[Any]):
    """One fitting, its tries one after the other."""

    id = serializers.UUIDField()
    player = serializers.UUIDField()
    item = serializers.UUIDField()
    accepted = serializers.BooleanField()
    checks = FitCheck(many=True)
    remedies = FitRemedy(many=True)
    size = serializers.CharField(help_text="The item's size as the records had it then.")
    pads_and_air = serializers.CharField(allow_null=True, help_text=OFFICERS_SEE)
    hairstyle = serializers.CharField(allow_null=True, help_text=OFFICERS_SEE)
    measurement = serializers.UUIDField(allow_null=True, help_text=OFFICERS_SEE)
    fitted_at = serializers.DateTimeField()
    fitted_by = serializers.CharField()
    recorded_at = serializers.DateTimeField()


class CheckRow(serializers.Serializer[Any]):
    """One check of the list that is gone through on the player."""

    kind = WordField(Kind)
    check = serializers.SlugField()
    words = serializers.CharField()
    required = serializers.BooleanField()  # type: ignore[assignment] # declared fields leave the class
    remedies = serializers.ListField(child=WordField(Remedy), help_text="What to do when it fails, in order.")
    source = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class
    mark = WordField(Mark, help_text="How well the source is known.")


class FitFilters(Filters):
    """By item, player, club, and whether it was accepted."""

    accepted = FlagFilter()
    club = IdFilter(field_name="player__club")

    class Meta:
        model = Fit
        fields = ("item", "player")


class Fits(Resource):
    """Fittings: never changed; a refit is another one. An accepted one is asked for before the item is handed out."""

    model = Fit
    resource = "fits"
    row = FitRow
    create_body = FitBody
    filterset_class = FitFilters
    ordering = ("-fitted_at",)
    allow = {"read": READERS, "create": WRITERS, "checks": READERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The fitting; nothing that was measured is among it."""
        kept = ("id", "version", "player", "item", "accepted", "tries", "size", "pads_and_air", "hairstyle")
        moments = ("measurement", "fitted_at", "recorded_at")
        return queryset.values(*kept, *moments, fitter=F("fitted_by__username"), of_club=F("player__club"))

    def complete(self, rows: Rows, day: date) -> Rows:
        """Tell the tries check by check, and who fitted by user name."""
        return [_flat(_as_seen(row, self.actor)) for row in rows]

    @action(detail=False, methods=["get"], url_path="checks", answer=results_of(CheckRow))
    def checks(self, request: Request) -> Response:
        """The list of each kind of gear, in the order in which it is gone through on the player."""
        return Response({"results": [_check(kind, check) for kind, checks in CHECKS.items() for check in checks]})

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Fit:
        """Keep it."""
        facts = dict(data)
        return record_fit(new=NewFit(id=id_, item_id=facts.pop("item").id, **facts), stamp=stamp)


def _check(kind: Kind, check: Check) -> Row:
    told = {name: getattr(check, name) for name in ("words", "required", "remedies", "source", "mark")}
    return {"kind": kind, "check": check.code, **told}


ORDER = {check.code: place for checks in CHECKS.values() for place, check in enumerate(checks)}


def _as_seen(row: Row, actor: Actor) -> Row:
    """Without the facts of the person, for whoever is neither an officer of the club nor an administrator."""
    seen = row.pop("of_club") in actor.club_ids or actor.administers
    return row if seen else row | dict.fromkeys(OF_THE_PERSON)


def _flat(row: Row) -> Row:
    tries = list(enumerate(row.pop("tries"), start=1))
    checks = [
        {"check": code, "passed": passed, "attempt": number}
        for number, each in tries
        # PostgreSQL keeps the members of an object in an order of its own.
        for code, passed in sorted(each["results"].items(), key=lambda result: ORDER[result[0]])
    ]
    remedies = [tried | {"attempt": number} for number, each in tries for tried in each["remedies"]]
    return row | {"checks": checks, "remedies": remedies, "fitted_by": row.pop("fitter")}
