"""Whether the program lives, whether it can serve, whether the sweep still runs. No token is asked for."""

from collections.abc import Mapping

from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.clock import now
from gearlife.api.open_view import OpenView
from gearlife.api.problems import CONTENT_TYPE
from gearlife.api.schema import ProblemDocument
from gearlife.queries.sweeps import sweep_age


class UnavailableError(APIException):
    """Answered with 503, these words, and members of its own."""

    status_code = 503

    def __init__(self, detail: str, members: Mapping[str, object] | None = None) -> None:
        super().__init__(detail)
        self.members = members or {}


class Status(serializers.Serializer[None]):
    """One word."""

    status = serializers.CharField()


class SweepStatus(serializers.Serializer[None]):
    """The last complete sweep."""

    last_complete_sweep_at = serializers.DateTimeField()
    age_hours = serializers.FloatField()


@extend_schema_serializer(component_name="SweepProblem")
class SweepProblem(ProblemDocument):
    """Too long ago, or never."""

    last_complete_sweep_at = serializers.DateTimeField(allow_null=True)
    age_hours = serializers.FloatField(allow_null=True)


NOT_READY = {(503, CONTENT_TYPE): OpenApiResponse(ProblemDocument, "Not ready; the detail says why.")}
LATE = {(503, CONTENT_TYPE): OpenApiResponse(SweepProblem, "Late; the detail says since when.")}


class Live(OpenView):
    """The process answers."""

    @extend_schema(responses=Status)
    def get(self, request: Request) -> Response:
        """Always alive, when it can say so."""
        return Response({"status": "alive"})


class Ready(OpenView):
    """The database answers and has every table."""

    @extend_schema(responses={200: Status} | NOT_READY)
    def get(self, request: Request) -> Response:
        """Ready, or a 503 that says what is missing."""
        try:
            executor = MigrationExecutor(connection)
            missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
        except Error:
            raise UnavailableError("The database does not answer.") from None
        if missing:
            raise UnavailableError("The database lacks migrations.")
        return Response({"status": "ready"})


class SweepHealth(OpenView):
    """The nightly sweep: watched from outside, because a silent schedule tells nobody."""

    @extend_schema(responses={200: SweepStatus} | LATE)
    def get(self, request: Request) -> Response:
        """When it last went through whole, and how long ago; 503 when never, over 26 hours ago, or in time to come."""
        age = sweep_age(now())
        members = {"last_complete_sweep_at": age.last, "age_hours": age.hours}
        if age.is_late:
            raise UnavailableError(age.words, members)
        return Response(members)
