"""Positions of models with the parts that their makers approve, faceguards, and what was changed on items."""

from django.db import models
from django.db.models import Q

from gearlife.models import (
    Club,
    GearModel,
    Item,
    OfClubQuerySet,
    OfItemQuerySet,
    Owned,
    OwnedQuerySet,
    one_of,
    word_field,
)
from inspections.domain.parts import PartSort, Position
from inspections.models.device_clocks import ByDevice


class PadPosition(Owned):
    """A place for parts on a model, by the maker's booklet."""

    model = models.ForeignKey(GearModel, on_delete=models.PROTECT, related_name="pad_positions")
    code = models.SlugField(max_length=40)
    label = models.CharField(max_length=80)
    sort = word_field(PartSort)
    count = models.PositiveSmallIntegerField(default=1)
    required = models.BooleanField(default=True)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("sort", PartSort, table="pad_position"),
            models.UniqueConstraint(fields=["model", "code"], name="pad_position_once"),
            models.CheckConstraint(condition=Q(count__gte=1), name="pad_position_holds_one"),
        ]

    def __str__(self) -> str:
        return self.label

    def as_position(self) -> Position:
        """As the rules take it."""
        return Position(self.id, self.code, self.label, PartSort(self.sort), self.count, self.required)


class ApprovedPart(Owned):
    """A part that the maker names for a position; `part` is its name or number as in the booklet."""

    position = models.ForeignKey(PadPosition, on_delete=models.CASCADE, related_name="approved_parts")
    part = models.CharField(max_length=80)
    part_key = models.CharField(max_length=80)
    maker = models.CharField(max_length=80, blank=True, default="")
    size = models.CharField(max_length=24, blank=True, default="")
    thickness_mm = models.FloatField(null=True, blank=True)
    stated_in = models.CharField(max_length=120, blank=True, default="")

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["position", "part_key"], name="approved_part_once")]

    def __str__(self) -> str:
        return self.part


class Faceguard(Owned):
    """One guard by its own serial or label: it is certified too, and goes from helmet to helmet."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="faceguards")
    label = models.CharField(max_length=64)
    label_key = models.CharField(max_length=64)
    part = models.CharField(max_length=80)
    part_key = models.CharField(max_length=80)
    maker = models.CharField(max_length=80, blank=True, default="")
    size = models.CharField(max_length=24, blank=True, default="")
    certified_on = models.DateField(null=True, blank=True)
    label_year = models.PositiveSmallIntegerField(null=True, blank=True)
    discarded_on = models.DateField(null=True, blank=True)

    objects = OfClubQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "label_key"], name="faceguard_once_in_club")]

    def __str__(self) -> str:
        return self.label


class PadChange(Owned, ByDevice):
    """What was put into a position, or noted as being there; an empty `part` took out. Never changed, never removed."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="pad_changes")
    position = models.ForeignKey(PadPosition, on_delete=models.PROTECT, related_name="changes")
    part = models.CharField(max_length=80, blank=True, default="")
    part_key = models.CharField(max_length=80, blank=True, default="")
    size = models.CharField(max_length=24, blank=True, default="")
    thickness_mm = models.FloatField(null=True, blank=True)
    count = models.PositiveSmallIntegerField(default=1)
    faceguard = models.ForeignKey(Faceguard, on_delete=models.PROTECT, null=True, blank=True, related_name="changes")
    # By the maker's list as it was then: what is approved later says nothing of what was put in before.
    approved = models.BooleanField(default=True)
    as_found = models.BooleanField(default=False)
    # It may name somebody, so that it stays here and out of the ledger.
    reason = models.CharField(max_length=200, blank=True, default="")
    changed_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = OfItemQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(approved=True) | ~Q(part=""), name="pad_change_unapproved_is_something")
        ]
        indexes = [
            # What is in an item: asked by its page, by every fit, by replacements.
            models.Index(fields=["item", "-changed_at"], name="pad_change_of_item"),
            # Where a guard has been.
            models.Index(fields=["faceguard", "-changed_at"], name="pad_change_of_guard"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-changed_at", "id"], name="pad_change_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)


class PartPolicy(Owned):
    """Whether a part that the maker does not approve holds the item; the newest counts, and none means that it does."""

    hold_unapproved = models.BooleanField()
    reason = models.CharField(max_length=200)
    decided_at = models.DateTimeField()
    decided_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = OwnedQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["organisation", "-decided_at", "id"], name="part_policy_listed")]

    def __str__(self) -> str:
        return self.reason
