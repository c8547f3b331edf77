"""`manufacturers/` and `models/`."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, TextFilter, WordFilter
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.domain.bounds import LONGEST_INTERVAL
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models import GearModel, Manufacturer, OwnedQuerySet
from gearlife.operations import catalogue

ALLOW = {"read": READERS, "create": WRITERS, "change": WRITERS}


class NameFilter(TextFilter):
    """A name, compared by its normal form."""

    def filter(self, qs: OwnedQuerySet, value: str) -> OwnedQuerySet:
        """Case and outer blanks never matter."""
        return qs.filter(name_key=normal_form(value)) if value else qs


class ManufacturerRow(serializers.Serializer[Any]):
    """A maker."""

    id = serializers.UUIDField()
    name = serializers.CharField()


class ManufacturerBody(StrictSerializer):
    """A maker's name."""

    name = serializers.CharField(max_length=80)


class ManufacturerFilters(Filters):
    """By name."""

    name = NameFilter()

    class Meta:
        model = Manufacturer
        fields = ()


class Manufacturers(Resource):
    """Makers of gear, one list for the organisation."""

    model = Manufacturer
    resource = "manufacturers"
    row = ManufacturerRow
    create_body = ManufacturerBody
    change_body = ManufacturerBody
    filterset_class = ManufacturerFilters
    ordering = ("name_key",)
    allow = ALLOW

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Its name."""
        return queryset.values("id", "version", "name")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Manufacturer:
        """Add it."""
        return catalogue.add_manufacturer(id=id_, name=data["name"], stamp=stamp)

    def change_row(self, instance: Manufacturer, data: Mapping[str, Any], stamp: Stamp) -> Manufacturer:
        """Spell its name anew."""
        return catalogue.change_manufacturer(manufacturer=instance, name=data.get("name", instance.name))


class ModelRow(serializers.Serializer[Any]):
    """A model: identical but for size and colour."""

    id = serializers.UUIDField()
    manufacturer = serializers.UUIDField()
    manufacturer_name = serializers.CharField()
    name = serializers.CharField()
    kind = WordField(Kind)
    liner = WordField(Liner)
    certification_interval_months = serializers.IntegerField(
        allow_null=True, help_text="As the maker states it; null: not recorded, twelve months are counted."
    )
    interval_stated_in = serializers.CharField()
    sizes = serializers.ListField(child=serializers.CharField())
    parts = serializers.ListField(child=serializers.CharField())
    levels = serializers.ListField(
        child=serializers.CharField(),
        help_text="The teams' levels of play that the maker states; empty: none is stated.",
    )


class ModelChange(StrictSerializer):
    """What may change of a model; another interval moves the clocks of all its items."""

    name = serializers.CharField(max_length=80)
    liner = WordField(Liner, required=False)
    certification_interval_months = serializers.IntegerField(
        min_value=1, max_value=LONGEST_INTERVAL, required=False, allow_null=True
    )
    interval_stated_in = serializers.CharField(max_length=120, required=False, allow_blank=True)
    sizes = serializers.ListField(child=serializers.CharField(max_length=24), max_length=60, required=False)
    parts = serializers.ListField(child=serializers.CharField(max_length=80), max_length=200, required=False)
    levels = serializers.ListField(child=serializers.CharField(max_length=40), max_length=20, required=False)


class ModelBody(ModelChange):
    """A model to add."""

    manufacturer = Reference(Manufacturer)
    kind = WordField(Kind)


class ModelFilters(Filters):
    """By maker, name, kind and liner."""

    name = NameFilter()
    kind = WordFilter(Kind)
    liner = WordFilter(Liner)

    class Meta:
        model = GearModel
        fields = ("manufacturer",)


class Models(Resource):
    """Models of gear, with the certification interval that the maker states and where it is stated."""

    model = GearModel
    resource = "models"
    row = ModelRow
    create_body = ModelBody
    change_body = ModelChange
    filterset_class = ModelFilters
    ordering = ("name_key",)
    allow = ALLOW
    # A maker's interval moves clocks, and a longer one may lift a stop.
    people_only = frozenset({"change"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """What is known of it."""
        known = ("name", "kind", "liner", "certification_interval_months", "interval_stated_in")
        lists = ("sizes", "parts", "levels")
        maker = {"manufacturer_name": F("manufacturer__name")}
        return queryset.values("id", "version", "manufacturer", *known, *lists, **maker)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> GearModel:
        """Add it."""
        return catalogue.add_model(new=catalogue.NewModel(id=id_, **data), stamp=stamp)

    def change_row(self, instance: GearModel, data: Mapping[str, Any], stamp: Stamp) -> GearModel:
        """Change what is known of it."""
        return catalogue.change_model(model=instance, changes=dict(data), stamp=stamp)
