"""`measurements/`: seen and written by officers of the club and administrators; who was shown one is written down."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.domain.lengths import LONGEST_MM, SHORTEST_MM, in_millimetres
from fitting.domain.measuring import MOST_READINGS, Agreement
from fitting.domain.roles import MEASURERS
from fitting.domain.vocabulary import MeasurementKind, Protocol, Tape
from fitting.models import Measurement, Player
from fitting.operations.measurements import NewMeasurement, note_reads, record_measurement, remove_measurement
from fitting.queries.measurements import measurement_columns, told
from fitting.queries.measuring_error import MeasurersError, errors_of
from gearlife.api.bulk import BulkResource
from gearlife.api.filters import Filters, IdFilter, WordFilter
from gearlife.api.reading import Row, Rows
from gearlife.api.schema import results_of
from gearlife.api.serializers import DayField, Reference, StrictSerializer, read_uuid
from gearlife.api.words import PersonField, WordField
from gearlife.domain.access import Stamp
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.vocabulary import Units

_READING = {"type": "number", "minimum": float(SHORTEST_MM), "maximum": float(LONGEST_MM)}


@extend_schema_field(_READING)
class ReadingField(serializers.Field[Decimal, Any, float, Any]):
    """One reading in millimetres, kept to a tenth; a fault never repeats what was read."""

    default_error_messages: ClassVar[dict[str, Any]] = {
        "type": "write it as a number of millimetres, without quotation marks",
        "reading": "{reason}",
    }

    def to_internal_value(self, data: Any) -> Decimal:  # noqa: ANN401 - what a client sent
        """Read it; ValidationError with the way out."""
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("type")
        try:
            return in_millimetres(data)
        except ValueError as wrong:
            self.fail("reading", reason=str(wrong))


class MeasurementBody(StrictSerializer):
    """What was read, in the order in which it was read. Two readings are asked for and one is taken."""

    player = Reference(Player, select=("club",))
    kind = WordField(MeasurementKind)
    protocol = WordField(Protocol, required=False, allow_null=True, default=None, help_text="Where the tape lay.")
    tape = WordField(Tape, required=False, allow_null=True, default=None)
    readings_mm = serializers.ListField(child=ReadingField(), min_length=1, max_length=MOST_READINGS)
    taken_on = DayField(required=False, allow_null=True, default=None, help_text="Today unless told.")
    measured_by = PersonField(
        required=False,
        allow_null=True,
        default=None,
        help_text="User name of one of the club's people; yours unless told.",
    )


class MeasurementRow(serializers.Serializer[Any]):
    """One measurement: `value_mm` is the mean of the readings that agree; doubts say why to repeat it, no more."""

    id = serializers.UUIDField()
    player = serializers.UUIDField()
    kind = WordField(MeasurementKind)
    protocol = WordField(Protocol, allow_null=True, help_text="Null: nobody told; it is compared with no other.")
    tape = WordField(Tape, allow_null=True)
    readings_mm = serializers.ListField(child=serializers.FloatField())
    taken_on = serializers.DateField()
    measured_by = serializers.CharField(allow_null=True)
    recorded_at = serializers.DateTimeField()
    value_mm = serializers.FloatField()
    agreement = WordField(Agreement)
    doubts = serializers.ListField(child=serializers.CharField())
    hat_size = serializers.CharField(allow_null=True, help_text="US; of a head alone.")


class ErrorRow(serializers.Serializer[Any]):
    """How exactly somebody measures; null is everybody together."""

    kind = WordField(MeasurementKind)
    measured_by = serializers.CharField(allow_null=True)
    error_mm = serializers.FloatField(help_text="The technical error of one reading: sqrt(sum of d^2 / 2N).")
    pairs = serializers.IntegerField(help_text="N: double readings.")
    counts = serializers.BooleanField(help_text="Whether there are enough for sizes to be reckoned with it.")


class MeasurementFilters(Filters):
    """By club, player, kind and where the tape lay."""

    club = IdFilter(field_name="player__club_id")
    kind = WordFilter(MeasurementKind)
    protocol = WordFilter(Protocol)

    class Meta:
        model = Measurement
        fields = ("player",)


class Measurements(BulkResource):
    """Measurements of players. One that is wrong is removed and taken anew; none is changed."""

    model = Measurement
    resource = "measurements"
    row = MeasurementRow
    create_body = MeasurementBody
    filterset_class = MeasurementFilters
    ordering = ("-taken_on",)
    allow = {"read": MEASURERS, "create": MEASURERS, "delete": MEASURERS, "technical-error": MEASURERS}

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - a MeasurementQuerySet
        """The readings, and how they were taken."""
        return measurement_columns(queryset)

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add the value and the doubts; who is shown them is written down."""
        note_reads(
            player_ids=[row["player"] for row in rows], why=f"measurements {self.action}"[:60], stamp=self.stamp()
        )
        return told(rows, Units.CENTIMETRES)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Measurement:
        """Keep it."""
        facts = {name: value for name, value in data.items() if name != "measured_by"}
        person = data["measured_by"]
        new = NewMeasurement(**facts, measured_by_id=person.id if person else None, id=id_)
        return record_measurement(new=new, stamp=stamp)

    def delete_row(self, instance: Measurement, stamp: Stamp) -> None:
        """Remove one that was taken or written wrongly."""
        remove_measurement(measurement=instance, stamp=stamp)

    @extend_schema(parameters=[OpenApiParameter("club", OpenApiTypes.UUID, description="One club's alone.")])
    @action(
        detail=False,
        methods=["get"],
        url_path="technical-error",
        answer=results_of(ErrorRow),
        query_parameters=frozenset({"club"}),
    )
    def technical_error(self, request: Request) -> Response:
        """The club's own technical error of measurement, of everybody and by measurer, with its number of pairs."""
        rows = self.model.objects.visible_to(self.actor)
        if club := request.query_params.get("club"):
            id_ = read_uuid(club)
            if id_ is None:
                raise InvalidInputError("the query cannot be taken as it is", faults=[Fault("write an id", "?club")])
            rows = rows.filter(player__club_id=id_)
        return Response({"results": [_error(each) for each in errors_of(rows)]})


def _error(each: MeasurersError) -> Row:
    return {
        "kind": each.kind.value,
        "measured_by": each.measurer,
        "error_mm": round(each.error.error_mm, 2),
        "pairs": each.error.pairs,
        "counts": each.counts,
    }
