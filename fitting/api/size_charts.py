"""`size-charts/`: the maker's chart of each model, and the sizes that it gives a player."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.domain.charts import HEAVIEST_KG, LONGEST_SIZE, MOST_ROWS, ChartRow, restored
from fitting.domain.roles import MEASURERS
from fitting.domain.sizing import Likelihood
from fitting.domain.vocabulary import ChartMeasure
from fitting.models import Player, SizeChart
from fitting.operations.size_charts import NewChart, add_chart
from fitting.queries.sizes import models_in_stock, sizes_for, without_numbers
from gearlife.api.filters import Filters
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.api.serializers import Reference, StrictSerializer, read_uuid
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.errors import Fault, InvalidInputError, NotFoundError
from gearlife.domain.vocabulary import Kind
from gearlife.models import GearModel

LONGEST_CSV = 20_000
LONGEST_MM = 2000
ENDS = {"mm": ("from_mm", "to_mm"), "kg": ("from_kg", "to_kg")}


class ChartRowBody(StrictSerializer):
    """A size's range of one measure: `from_mm`, `to_mm`, of the weight `from_kg`, `to_kg`; null is an open end."""

    size = serializers.CharField(max_length=LONGEST_SIZE)
    measure = WordField(ChartMeasure)
    from_mm = serializers.FloatField(min_value=0, max_value=LONGEST_MM, required=False, allow_null=True)
    to_mm = serializers.FloatField(min_value=0, max_value=LONGEST_MM, required=False, allow_null=True)
    from_kg = serializers.FloatField(min_value=0, max_value=HEAVIEST_KG, required=False, allow_null=True)
    to_kg = serializers.FloatField(min_value=0, max_value=HEAVIEST_KG, required=False, allow_null=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One unit, that of the measure."""
        of_other = ENDS["mm" if attrs["measure"] is ChartMeasure.WEIGHT else "kg"]
        wrong = {name: ["a weight is in kg, a length in mm"] for name in of_other if attrs.get(name) is not None}
        if wrong:
            raise serializers.ValidationError(wrong)
        return {"row": restored(attrs)}


class ChartBody(StrictSerializer):
    """A model's chart, whole: as `rows`, or as the text of a table (`csv`: size,measure,from,to,unit)."""

    model = Reference(GearModel)
    rows = ChartRowBody(many=True, max_length=MOST_ROWS, required=False, default=list)
    csv = serializers.CharField(max_length=LONGEST_CSV, required=False, allow_blank=True, default="")
    stated_in = serializers.CharField(max_length=120, required=False, allow_blank=True, default="")
    positions = serializers.ListField(
        child=serializers.CharField(max_length=24), max_length=20, required=False, default=list
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One form of it."""
        if bool(attrs["rows"]) == bool(attrs["csv"].strip()):
            raise serializers.ValidationError({"rows": ["give the rows or the csv, one of them"]})
        return attrs


class ChartRowRow(serializers.Serializer[Any]):
    """A size's range of one measure."""

    size = serializers.CharField()
    measure = WordField(ChartMeasure)
    from_mm = serializers.FloatField(required=False, allow_null=True)
    to_mm = serializers.FloatField(required=False, allow_null=True)
    from_kg = serializers.FloatField(required=False, allow_null=True)
    to_kg = serializers.FloatField(required=False, allow_null=True)


class ChartDocument(serializers.Serializer[Any]):
    """One revision of a model's chart; it never changes."""

    id = serializers.UUIDField()
    model = serializers.UUIDField()
    revision = serializers.IntegerField()
    rows = ChartRowRow(many=True)
    positions = serializers.ListField(child=serializers.CharField())
    stated_in = serializers.CharField()
    created_at = serializers.DateTimeField()


class SizeRow(serializers.Serializer[Any]):
    """One candidate size."""

    size = serializers.CharField()
    probability = serializers.FloatField(
        allow_null=True, help_text="That the true measures lie in its ranges; null for who may not see measurements."
    )
    likelihood = WordField(Likelihood)


class SizesRow(serializers.Serializer[Any]):
    """What one model's chart gives a player, the most probable first. Letters of two models are never compared."""

    player = serializers.UUIDField()
    model = serializers.UUIDField()
    model_name = serializers.CharField()
    kind = WordField(Kind)
    chart = serializers.UUIDField(allow_null=True)
    revision = serializers.IntegerField(allow_null=True)
    sizes = SizeRow(many=True)
    says = serializers.CharField()
    notes = serializers.ListField(child=serializers.CharField())


class WeighedBody(StrictSerializer):
    """Whose sizes, by which weight. The weight is reckoned with and not kept."""

    player = Reference(Player, select=("club",))
    model = Reference(GearModel, required=False, allow_null=True, default=None)
    weight_kg = serializers.FloatField(min_value=1, max_value=HEAVIEST_KG)


class ChartFilters(Filters):
    """By model."""

    class Meta:
        model = SizeChart
        fields = ("model",)


class SizeCharts(Resource):
    """Charts out of the makers' booklets; the newest revision first. A new one counts from then on, old ones stay."""

    model = SizeChart
    resource = "size-charts"
    row = ChartDocument
    create_body = ChartBody
    filterset_class = ChartFilters
    ordering = ("-created_at",)
    allow = {"read": READERS, "create": WRITERS, "sizes": READERS, "sizes-by-weight": MEASURERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        return queryset.values("id", "version", "model", "revision", "rows", "positions", "stated_in", "created_at")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> SizeChart:
        """Add the revision."""
        rows: list[ChartRow] = [each["row"] for each in data["rows"]]
        return add_chart(new=NewChart(**{**data, "rows": rows}, id=id_), stamp=stamp)

    @extend_schema(
        parameters=[
            OpenApiParameter("player", OpenApiTypes.UUID, required=True),
            OpenApiParameter("model", OpenApiTypes.UUID, description="Without it: every model in the club's room."),
        ]
    )
    @action(
        detail=False,
        methods=["get"],
        url_path="sizes",
        answer=results_of(SizesRow),
        query_parameters=frozenset({"player", "model"}),
    )
    def sizes(self, request: Request) -> Response:
        """Each candidate size of a player by the model's chart; the size alone for who may not see measurements."""
        if "player" not in request.query_params:
            raise InvalidInputError("Whose sizes?", faults=[Fault("name the player", "?player", "required")])
        player: Player = self._named(Player.objects.select_related("club"), "player")
        asks_model = "model" in request.query_params
        model: GearModel | None = self._named(GearModel.objects.all(), "model") if asks_model else None
        return self._answered(player, model, None)

    @action(detail=False, methods=["post"], url_path="sizes-by-weight", body=WeighedBody, answer=results_of(SizesRow))
    def sizes_by_weight(self, request: Request) -> Response:
        """The same with the player's weight, where the maker's chart goes by it; the weight is not kept."""
        data = self.valid(WeighedBody, request.data)
        self.permitted(data["player"])
        return self._answered(data["player"], data["model"], data["weight_kg"])

    def _answered(self, player: Player, model: GearModel | None, weight_kg: float | None) -> Response:
        models = [model] if model else models_in_stock(player.club_id)
        rows = sizes_for(player, models, day=self.stamp(player.club).day, weight_kg=weight_kg)
        may_see = self.actor.administers or player.club_id in self.actor.club_ids
        return Response({"results": rows if may_see else without_numbers(rows)})

    def _named(self, rows: Any, name: str) -> Any:  # noqa: ANN401 - a queryset of ours and its row
        id_ = read_uuid(self.request.query_params.get(name, ""))
        found = id_ and rows.visible_to(self.actor).filter(id=id_).first()
        if not found:
            raise NotFoundError(f"There is no such {name} that you may see.")
        return found
