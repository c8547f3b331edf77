"""`allocation-plans/`, `plan-lines/` and `set-asides/`: who gets what, said before a fitting day, and kept for it."""

from collections.abc import Mapping
from datetime import date
from typing import Any, ClassVar
from uuid import UUID
from zlib import crc32

from django.db.models import QuerySet
from rest_framework import serializers

from fitting.domain.pools import MOST_POINTS, MOST_SPARE_PERCENT, Weights
from fitting.domain.sizing import Likelihood
from fitting.domain.vocabulary import LineState, PlanOutcome, PlanState, SetAsideEnds
from fitting.models import AllocationPlan, PlanLine, SetAside
from fitting.models.plans import UNFINISHED
from fitting.operations.plans import NewPlan, apply_plan, make_plan, put_back
from fitting.queries.plans.rows import line_columns, lines_of, plan_columns, seen_by, set_aside_columns
from fitting.queries.remarks import with_remarks
from gearlife.api.filters import Filters, FlagFilter, IdFilter, WordFilter
from gearlife.api.intakes import Progress
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models import Club, Season, Team
from gearlife.operations.intake.progress import progress_of

USUAL = Weights()


def _points(most: int, usual: int, words: str) -> serializers.IntegerField:
    return serializers.IntegerField(min_value=0, max_value=most, required=False, default=usual, help_text=words)


class WeightsBody(StrictSerializer):
    """How much each wish counts, in points; what is not given is as usual."""

    size = _points(MOST_POINTS, USUAL.size, "For a size that is surely wrong, in proportion to the doubt.")
    keep = _points(MOST_POINTS, USUAL.keep, "For another item than the player's last.")
    age = _points(MOST_POINTS, USUAL.age, "For the item farthest from the middle of all days of making, by the square.")
    spare = _points(MOST_POINTS, USUAL.spare, "For each spare that is wanted and that there is not.")
    position = _points(
        MOST_POINTS, USUAL.position, "For a model that its maker made for other positions than the player's."
    )
    spare_percent = _points(MOST_SPARE_PERCENT, USUAL.spare_percent, "How much of each size is to stay in the room.")


class WantedSizeRow(serializers.Serializer[Any]):
    """A size of a model; the letters of two models do not compare."""

    model = serializers.UUIDField()
    model_name = serializers.CharField()
    liner = WordField(Liner)
    size = serializers.CharField()


class ElsewhereRow(serializers.Serializer[Any]):
    """Where more of these sizes are, or what keeps them from going out."""

    code = serializers.CharField()
    count = serializers.IntegerField()


class ShortRow(serializers.Serializer[Any]):
    """Players who need one of these sizes and get none; `for_spares`: only what should stay in the room is missing."""

    club = serializers.UUIDField()
    kind = WordField(Kind)
    for_spares = serializers.BooleanField()
    count = serializers.IntegerField()
    sizes = WantedSizeRow(many=True)
    elsewhere = ElsewhereRow(many=True)
    detail = serializers.CharField()


class PlanLineRow(serializers.Serializer[Any]):
    """What a plan says of one player and kind of gear, and what became of it when the plan was applied."""

    id = serializers.UUIDField()
    plan = serializers.UUIDField()
    player = serializers.UUIDField()
    kind = WordField(Kind)
    outcome = WordField(PlanOutcome)
    item = serializers.UUIDField(allow_null=True)
    size = serializers.CharField()
    likelihood = WordField(
        Likelihood, allow_blank=True, help_text="How likely the size is, in a word; empty without an item."
    )
    because = serializers.CharField()
    state = WordField(LineState)
    state_because = serializers.CharField()
    fit = serializers.CharField(
        help_text="Asked now: that the item has no fit on the player, or a stale one; empty where it has a current one."
    )
    remarks = serializers.ListField(
        child=serializers.CharField(), help_text="What the maker says besides sizes: other positions, the weight."
    )


class AllocationPlanRow(serializers.Serializer[Any]):
    """A plan as it was made; it hands nothing out, for the fit on the player decides.

    `lines`: the first thousand that you may see; null in lists. All of them are `plan-lines/?plan=`. `short` and
    `notes` are told to whoever sees the club whole. `cost` compares two plans of the same players, gear and weights.
    """

    id = serializers.UUIDField()
    club = serializers.UUIDField(allow_null=True)
    team = serializers.UUIDField(allow_null=True)
    season = serializers.UUIDField(allow_null=True)
    kind = WordField(Kind, allow_blank=True, help_text="Empty: helmets and shoulder pads.")
    weights = WeightsBody()
    state = WordField(PlanState)
    asked_on = serializers.DateField()
    asked_at = serializers.DateTimeField()
    made_at = serializers.DateTimeField(allow_null=True)
    applied_at = serializers.DateTimeField(allow_null=True)
    planned = serializers.IntegerField()
    without = serializers.IntegerField()
    cost = serializers.IntegerField()
    short = ShortRow(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    failed_because = serializers.CharField()
    progress = Progress(allow_null=True)
    lines_in_all = serializers.IntegerField(allow_null=True)
    lines = PlanLineRow(many=True, allow_null=True)


class AllocationPlanBody(StrictSerializer):
    """For a team, for a club, or, by an administrator, for the whole organisation: one of them is named."""

    team = Reference(Team, select=("club",), required=False, allow_null=True, default=None)
    club = Reference(Club, required=False, allow_null=True, default=None)
    whole_organisation = serializers.BooleanField(required=False, default=False)
    season = Reference(
        Season,
        select=("club",),
        required=False,
        allow_null=True,
        default=None,
        help_text="Up to whose last game everything must last; not given: the club's running or next one.",
    )
    kind = WordField(Kind, required=False, allow_blank=True, default="", help_text="Not given: both kinds.")
    weights = WeightsBody(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Nobody plans everything by leaving something out."""
        if attrs.pop("whole_organisation") == bool(attrs["team"] or attrs["club"]):
            words = "name a team or a club, or write true at whole_organisation, and not both"
            raise serializers.ValidationError({"club": [words]})
        return attrs


class AllocationPlanFilters(Filters):
    """By club, team, season and state."""

    state = WordFilter(PlanState)

    class Meta:
        model = AllocationPlan
        fields = ("club", "team", "season")


class AllocationPlans(Resource):
    """Plans of who gets what up to a season's last game. Applied, what still holds is set aside; nothing is issued."""

    model = AllocationPlan
    resource = "allocation-plans"
    row = AllocationPlanRow
    create_body = AllocationPlanBody
    filterset_class = AllocationPlanFilters
    ordering = ("-asked_at",)
    allow: ClassVar[Mapping[str, Any]] = {"read": READERS, "create": WRITERS, "apply": WRITERS, "put-back": WRITERS}

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - an AllocationPlanQuerySet
        """The plan without its lines."""
        return plan_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add the lines where one plan is asked for, and how far unfinished ones have come."""
        is_list = self.action == "list"
        lines = {} if is_list else lines_of([row["id"] for row in rows], self.actor)
        shown = [seen_by(self.actor, row) for row in rows]
        for row in shown:
            of_plan, row["lines_in_all"] = lines.get(row["id"], (None, None))
            row["lines"] = of_plan if of_plan is None else with_remarks(of_plan, day)
            row["version"] = _version(row, row["lines"] or [])
            row["progress"] = progress_of(row["id"]) if row["state"] in UNFINISHED else None
            if row["progress"]:
                row["version"] = f"{row['version']}-{row['progress']['stage']}-{row['progress']['rows_done']}"
        return shown

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> AllocationPlan:
        """Make it; a large one waits."""
        facts = dict(data)
        weights = Weights(**facts.pop("weights", {}))
        kind = facts.pop("kind") or None
        return make_plan(new=NewPlan(id=id_, kind=kind, weights=weights, **facts), stamp=stamp)

    @act()
    def apply(self, instance: AllocationPlan, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Set aside what still holds, each other line with why not. Applied already, nothing changes."""
        apply_plan(plan=instance, stamp=stamp)

    @act()
    def put_back(self, instance: AllocationPlan, data: Mapping[str, Any], stamp: Stamp) -> None:
        """End what this plan has set aside and is not handed out yet."""
        put_back(plan=instance, stamp=stamp)


class PlanLineFilters(Filters):
    """By plan, player, item, the player's team and club, kind, outcome and state."""

    kind = WordFilter(Kind)
    outcome = WordFilter(PlanOutcome)
    state = WordFilter(LineState)
    team = IdFilter(field_name="player__team")
    club = IdFilter(field_name="player__club")
    plan = IdFilter(field_name="plan")

    class Meta:
        model = PlanLine
        fields = ("player", "item")


class PlanLines(Resource):
    """Lines of plans: sizes and words, never a measurement."""

    model = PlanLine
    resource = "plan-lines"
    row = PlanLineRow
    filterset_class = PlanLineFilters
    allow: ClassVar[Mapping[str, Any]] = {"read": READERS}

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - an OfPlayerQuerySet
        """The line whole."""
        return line_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add how the fit of each pair stands, and what the maker says of the model for the player."""
        return [row | {"version": _version(row, [row])} for row in with_remarks(rows, day)]


def _version(row: Row, lines: Rows) -> str:
    """The version with what is asked anew each time: a fit goes stale while nobody writes the line."""
    said = "\n".join(f"{line['fit']} {line['remarks']}" for line in lines)
    return f"{row['version']}.{crc32(said.encode()):08x}"


class SetAsideRow(serializers.Serializer[Any]):
    """An item is kept for a player until `ended_at`; whoever hands it to another is warned."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    player = serializers.UUIDField()
    plan = serializers.UUIDField(allow_null=True)
    kind = WordField(Kind)
    made_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)
    ended_by = WordField(SetAsideEnds, allow_blank=True, help_text="Empty while it is kept.")


class SetAsideFilters(Filters):
    """By item, player, plan and kind; `open=true` gives what is kept now."""

    kind = WordFilter(Kind)
    open = FlagFilter(field_name="ended_at", lookup_expr="isnull")
    plan = IdFilter(field_name="plan")

    class Meta:
        model = SetAside
        fields = ("item", "player")


class SetAsides(Resource):
    """What plans have set aside."""

    model = SetAside
    resource = "set-asides"
    row = SetAsideRow
    filterset_class = SetAsideFilters
    ordering = ("-made_at",)
    allow: ClassVar[Mapping[str, Any]] = {"read": READERS}

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - a SetAsideQuerySet
        """The row whole."""
        return set_aside_columns(queryset)
