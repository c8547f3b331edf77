"""`air-records/`, recorded one by one or a whole team at once; `model-air/`, what makers state of the air in models."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters, IdFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.api.serializers import read_uuid
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.errors import Fault, InvalidInputError, NotFoundError
from gearlife.models import Item
from inspections.api.air_bodies import (
    AirBody,
    AirOfModelBody,
    AirOfModelChange,
    AirOfModelRow,
    AirResults,
    AirRow,
    ExpectedRow,
    LeakRow,
    new_air_record,
)
from inspections.api.batches import BatchedResource
from inspections.api.inspections import MomentFilter
from inspections.domain.air import Surroundings
from inspections.domain.air_records import BOUNDS, Act, Felt, Measured
from inspections.domain.vocabulary import Grade
from inspections.models import AirOfModel, AirRecord
from inspections.operations.air import NewAirRecord, change_air, record_air, record_all_air, refuse_bad_air, state_air
from inspections.queries.air import air_of_models, leak_row, leaks_of
from inspections.queries.air_rows import air_columns, expected_rows, with_reference
from inspections.queries.inspections import with_aftermath

PLACE = ("temperature_c", "elevation_m", "barometric_kpa")


class AirFilters(Filters):
    """By item, club, what was done, how it felt, what it counts as, and when."""

    club = IdFilter(field_name="item__club")
    act = WordFilter(Act)
    felt = WordFilter(Felt)
    counts_as = WordFilter(Grade)
    happened_after = MomentFilter(field_name="happened_at", lookup_expr="gt")
    happened_before = MomentFilter(field_name="happened_at", lookup_expr="lt")

    class Meta:
        model = AirRecord
        fields = ("item",)


@extend_schema_view(bulk=extend_schema(responses={200: AirResults}))
class AirRecords(BatchedResource):
    """Air looked after, cell by cell. A cell that will not hold air stops its item at once; later air lifts nothing."""

    model = AirRecord
    resource = "air-records"
    row = AirRow
    create_body = AirBody
    filterset_class = AirFilters
    ordering = ("-happened_at",)
    allow = {"read": READERS, "create": WRITERS, "leak-test": READERS, "expected": READERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """What is kept of each."""
        return air_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add what it is at reference conditions, and the holds that it opened."""
        return with_reference(rows)

    def rows(self, ids: Sequence[UUID]) -> dict[UUID, Row]:
        """The rows; in the answer to a creation with the item's standing now, and who wears it."""
        rows = super().rows(ids)
        if self.request.method in {"POST", "PUT"}:
            with_aftermath(rows.values(), self.stamp().at)
        return rows

    def checker(self, items: Iterable[Item]) -> Callable[[NewAirRecord, Stamp], None]:
        """By what is known of the models' air."""
        of_models = air_of_models(item.model_id for item in items)
        return lambda new, stamp: refuse_bad_air(new, of_models[new.item.model_id], stamp)

    def new_of(self, id_: UUID, data: Mapping[str, Any]) -> NewAirRecord:
        """As the operation takes it."""
        return new_air_record(id_, data)

    def record_all(self, new: Sequence[NewAirRecord], stamp: Stamp) -> object:
        """Record them."""
        return record_all_air(new, stamp)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> AirRecord:
        """Record it."""
        return record_air(new=new_air_record(id_, data), stamp=stamp)

    @extend_schema(parameters=[OpenApiParameter("item", OpenApiTypes.UUID, required=True)])
    @action(
        detail=False,
        methods=["get"],
        url_path="leak-test",
        answer=results_of(LeakRow),
        query_parameters=frozenset({"item"}),
    )
    def leak_test(self, request: Request) -> Response:
        """What the leak tests say of one item."""
        item = self._item()
        verdict = leaks_of([item.id], self.stamp(item.club).day)[item.id]
        return Response({"results": [leak_row(item.id, verdict)]})

    @extend_schema(
        parameters=[
            OpenApiParameter("item", OpenApiTypes.UUID, required=True),
            OpenApiParameter("temperature_c", OpenApiTypes.FLOAT, required=True),
            OpenApiParameter("elevation_m", OpenApiTypes.FLOAT),
            OpenApiParameter("barometric_kpa", OpenApiTypes.FLOAT),
        ]
    )
    @action(
        detail=False,
        methods=["get"],
        url_path="expected",
        answer=results_of(ExpectedRow),
        query_parameters=frozenset({"item", *PLACE}),
    )
    def expected(self, request: Request) -> Response:
        """What a gauge will read at most elsewhere, by each cell's last comparable reading. Nothing to fill to."""
        item, there = self._item(), self._surroundings()
        return Response({"results": expected_rows(item.id, self.stamp(item.club).day, there)})

    def _item(self) -> Item:
        """The item that the query names."""
        if "item" not in self.request.query_params:
            raise InvalidInputError("Which item?", faults=[Fault("name the item", "?item", "required")])
        id_ = read_uuid(self.request.query_params["item"])
        visible = Item.objects.visible_to(self.actor).select_related("club")
        found: Item | None = visible.filter(id=id_).first() if id_ else None
        if found is None:
            raise NotFoundError("There is no such item that you may see.")
        return found

    def _surroundings(self) -> Surroundings:
        """The place that the query names."""
        temperature_c, elevation_m, barometric_kpa = (self._number(name) for name in PLACE)
        there = Measured(None, temperature_c, elevation_m, barometric_kpa).surroundings
        if there is None:
            fault = Fault("give the temperature, and the elevation or the barometric pressure", "?temperature_c")
            raise InvalidInputError("Where will it be?", faults=[fault])
        return there

    def _number(self, name: str) -> float | None:
        """A number of the query within its bounds."""
        text = self.request.query_params.get(name)
        if text is None:
            return None
        least, most = BOUNDS[name]
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if not least <= value <= most:
            words = f"write a number from {least:g} to {most:g}"
            raise InvalidInputError("A number cannot be read.", faults=[Fault(words, f"?{name}", "out_of_bounds")])
        return value


class AirOfModelFilters(Filters):
    """By model."""

    class Meta:
        model = AirOfModel
        fields = ("model",)


class AirOfModels(Resource):
    """The cells of each model, and the range that its maker states for a gauge, with where it is stated."""

    model = AirOfModel
    resource = "model-air"
    row = AirOfModelRow
    create_body = AirOfModelBody
    change_body = AirOfModelChange
    filterset_class = AirOfModelFilters
    ordering = ("id",)
    allow = {"read": READERS, "create": WRITERS, "change": WRITERS}
    # A wider range ends what the narrower one had to say.
    people_only = frozenset({"create", "change"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything."""
        stated = ("cells", "lowest_kpa", "highest_kpa", "stated_in", "outside_counts_as")
        return queryset.values("id", "version", "model", *stated)

    def complete(self, rows: Rows, day: date) -> Rows:
        """The ends of a range judge readings and are none to fill to: whoever does not enter them is not shown them."""
        if self.actor.may_be(*WRITERS):
            return rows
        return [row | {"lowest_kpa": None, "highest_kpa": None} for row in rows]

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> AirOfModel:
        """Add it."""
        facts = {name: value for name, value in data.items() if name != "model"}
        return state_air(model=data["model"], facts=facts, stamp=stamp, id=id_)

    def change_row(self, instance: AirOfModel, data: Mapping[str, Any], stamp: Stamp) -> AirOfModel:
        """Change it."""
        return change_air(row=instance, facts=data, stamp=stamp)
