"""Manufacturers and models of gear, with what the maker states of them."""

from django.db import models

from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models.base import Owned, OwnedQuerySet
from gearlife.models.enums import one_of, word_field


class Manufacturer(Owned):
    """A maker, known by the normal form of its name."""

    name = models.CharField(max_length=80)
    name_key = models.CharField(max_length=80)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["organisation", "name_key"], name="manufacturer_once")]

    def __str__(self) -> str:
        return self.name


class GearModel(Owned):
    """A model: identical but for size and colour. `sizes` are the labels that it is known in.

    `levels` are the levels of play that its maker states it for, in the words of the teams'; empty: none is stated.
    """

    manufacturer = models.ForeignKey(Manufacturer, on_delete=models.PROTECT, related_name="models")
    name = models.CharField(max_length=80)
    name_key = models.CharField(max_length=80)
    kind = word_field(Kind)
    liner = word_field(Liner, default=Liner.OTHER)
    certification_interval_months = models.PositiveSmallIntegerField(null=True, blank=True)
    interval_stated_in = models.CharField(max_length=120, blank=True, default="")
    sizes = models.JSONField(default=list, blank=True)
    parts = models.JSONField(default=list, blank=True)
    levels = models.JSONField(default=list, blank=True)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["manufacturer", "name_key", "kind"], name="model_once"),
            one_of("kind", Kind, table="model"),
            one_of("liner", Liner, table="model"),
        ]

    def __str__(self) -> str:
        return self.name
