"""What a client sends of air, and what it is told. Pressures are a gauge's in kPa; none is ever one to fill to."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from rest_framework import serializers

from gearlife.api.schema import ProblemDocument
from gearlife.api.serializers import AwareDateTimeField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.vocabulary import Standing
from gearlife.models import GearModel, Item
from inspections.api.bodies import FetchedReference, WornByRow
from inspections.domain.air_leaks import Outcome
from inspections.domain.air_records import BOUNDS, ONE_CELL, Act, Felt, Measured
from inspections.domain.vocabulary import Grade
from inspections.operations.air import NUMBERS, NewAirRecord

ON_THE_SPOT = "As a barometer on the spot reads it, not reduced to sea level."


def bounded(name: str) -> dict[str, Any]:
    """The options of a number that may be left out, within its bounds."""
    least, most = BOUNDS[name]
    words = f"This lies outside {least:g} to {most:g}: is it in another unit?"
    told = {"min_value": words, "max_value": words}
    return {"min_value": least, "max_value": most, "required": False, "allow_null": True, "error_messages": told}


class AirBody(StrictSerializer):
    """One cell looked after. Without a gauge `item` and `felt` are all; a pressure is the gauge's afterwards."""

    item = FetchedReference(Item, select=("club",))
    cell = serializers.CharField(max_length=24, default=ONE_CELL)
    act = WordField(Act, required=False)
    felt = WordField(Felt, required=False)
    pressure_kpa = serializers.FloatField(**bounded("pressure_kpa"))
    temperature_c = serializers.FloatField(**bounded("temperature_c"))
    elevation_m = serializers.FloatField(**bounded("elevation_m"))
    barometric_kpa = serializers.FloatField(**bounded("barometric_kpa"), help_text=ON_THE_SPOT)
    strokes = serializers.IntegerField(**bounded("strokes"))
    happened_at = AwareDateTimeField(required=False)


class ReferenceRow(serializers.Serializer[None]):
    """A pressure with its standard uncertainty."""

    pressure_kpa = serializers.FloatField()
    error_kpa = serializers.FloatField()


class AirRow(serializers.Serializer[None]):
    """A record of air, and what it counts as."""

    id = serializers.UUIDField()
    item = serializers.UUIDField()
    cell = serializers.CharField()
    act = WordField(Act)
    felt = WordField(Felt, allow_blank=True)
    pressure_kpa = serializers.FloatField(allow_null=True)
    temperature_c = serializers.FloatField(allow_null=True)
    elevation_m = serializers.FloatField(allow_null=True)
    barometric_kpa = serializers.FloatField(allow_null=True)
    strokes = serializers.IntegerField(allow_null=True)
    at_reference = ReferenceRow(
        allow_null=True, help_text="At 20 degrees and 101.325 kPa around; null without temperature and height."
    )
    counts_as = WordField(Grade)
    happened_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    device_at = serializers.DateTimeField(allow_null=True)
    clock_ahead_seconds = serializers.IntegerField(allow_null=True)
    recorded_by = serializers.CharField(allow_null=True)
    holds = serializers.ListField(child=serializers.UUIDField(), help_text="The holds that it opened, ended ones too.")
    item_standing = WordField(Standing, required=False)
    worn_by = WornByRow(required=False, allow_null=True)


class AirResult(serializers.Serializer[None]):
    """What became of one entry."""

    status = serializers.IntegerField()
    id = serializers.UUIDField(allow_null=True)
    body = AirRow(required=False)
    problem = ProblemDocument(required=False)


class AirResults(serializers.Serializer[None]):
    """One result an entry, in order."""

    results = AirResult(many=True)


class LeakRow(serializers.Serializer[None]):
    """What the leak tests say of an item, beside the others of its model in its club."""

    item = serializers.UUIDField()
    outcome = WordField(Outcome)
    because = serializers.CharField(allow_blank=True)
    heavy = serializers.BooleanField(help_text="Topping up is not enough: replace the cell.")
    loses_kpa_a_week = serializers.FloatField(allow_null=True, help_text="More than the others; null without a trend.")
    interval_kpa_a_week = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    chance = serializers.FloatField(
        allow_null=True, help_text="Of needing air so often among the others on the same days; null: not reckoned."
    )


class ExpectedRow(serializers.Serializer[None]):
    """What a cell will read elsewhere. `rigid` is the bound if the liner did not give; it gives."""

    cell = serializers.CharField()
    read_at = serializers.DateTimeField()
    was_kpa = serializers.FloatField()
    changes_at_most_kpa = serializers.FloatField()
    rigid = ReferenceRow()
    says = serializers.CharField()


class AirOfModelBody(StrictSerializer):
    """What the maker states of a model's air: its cells, and the range of a gauge with where it is stated."""

    model = Reference(GearModel)
    cells = serializers.ListField(child=serializers.CharField(max_length=24), max_length=20, default=[ONE_CELL])
    lowest_kpa = serializers.FloatField(**bounded("pressure_kpa"))
    highest_kpa = serializers.FloatField(**bounded("pressure_kpa"))
    stated_in = serializers.CharField(max_length=120, required=False, allow_blank=True)
    outside_counts_as = WordField(Grade, required=False)


class AirOfModelChange(StrictSerializer):
    """What may change of it."""

    cells = serializers.ListField(child=serializers.CharField(max_length=24), max_length=20)
    lowest_kpa = serializers.FloatField(**bounded("pressure_kpa"))
    highest_kpa = serializers.FloatField(**bounded("pressure_kpa"))
    stated_in = serializers.CharField(max_length=120, allow_blank=True)
    outside_counts_as = WordField(Grade)


class AirOfModelRow(serializers.Serializer[None]):
    """What the maker states of a model's air."""

    id = serializers.UUIDField()
    model = serializers.UUIDField()
    cells = serializers.ListField(child=serializers.CharField())
    lowest_kpa = serializers.FloatField(allow_null=True)
    highest_kpa = serializers.FloatField(allow_null=True)
    stated_in = serializers.CharField(allow_blank=True)
    outside_counts_as = WordField(Grade)


def new_air_record(id_: UUID, data: Mapping[str, Any]) -> NewAirRecord:
    """A validated body as the operation takes it."""
    return NewAirRecord(
        item=data["item"],
        cell=data["cell"],
        act=data.get("act"),
        felt=data.get("felt"),
        measured=Measured(**{name: data.get(name) for name in NUMBERS}),
        happened_at=data.get("happened_at"),
        id=id_,
    )
