"""Whether the program lives, whether it can serve, whether the sweep still runs. No token is asked for."""

from datetime import timedelta

from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.clock import now
from gearlife.api.open_view import OpenView
from gearlife.queries.sweeps import last_complete_sweep

LATE_AFTER = timedelta(hours=26)


class UnavailableError(APIException):
    """Answered with 503 and these words."""

    status_code = 503


class Status(serializers.Serializer[None]):
    """One word."""

    status = serializers.CharField()


class SweepStatus(serializers.Serializer[None]):
    """The last complete sweep."""

    last_complete_sweep_at = serializers.DateTimeField()
    age_hours = serializers.FloatField()


class Live(OpenView):
    """The process answers."""

    @extend_schema(responses=Status)
    def get(self, request: Request) -> Response:
        """Always alive, when it can say so."""
        return Response({"status": "alive"})


class Ready(OpenView):
    """The database answers and has every table."""

    @extend_schema(responses=Status)
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

    @extend_schema(responses=SweepStatus)
    def get(self, request: Request) -> Response:
        """When it last went through whole; 503 when never or over 26 hours ago."""
        last = last_complete_sweep()
        if last is None:
            raise UnavailableError("No sweep has ever been completed.")
        age = now() - last
        if age > LATE_AFTER:
            raise UnavailableError(f"The last complete sweep was at {last.isoformat()}.")
        return Response({"last_complete_sweep_at": last, "age_hours": round(age / timedelta(hours=1), 1)})
