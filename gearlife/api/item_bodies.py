"""What is taken in of items, and how they are filtered."""

from datetime import date
from typing import Any

from rest_framework import serializers

from gearlife.api.clock import stamp_of
from gearlife.api.filters import Filters, FlagFilter, TextFilter, WordFilter
from gearlife.api.serializers import (
    AwareDateTimeField,
    DayField,
    PartialDateField,
    Reference,
    StrictSerializer,
)
from gearlife.api.words import PersonField, WordField
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Evidence, HoldCause, Kind, ReleaseBasis, Standing, Whereabouts
from gearlife.models import Club, GearModel, Hold, Item, ItemQuerySet, Photo, Team
from gearlife.queries.items import issuable_ids, of_standing

# The gate is asked about every one of them: a list that asks for more wants a club, a team, a model or a size.
MOST_WEIGHED = 5000


class ItemChange(StrictSerializer):
    """What may change of an item; a date of manufacture needs its evidence."""

    serial = serializers.CharField(max_length=64, required=False, allow_blank=True)
    tag = serializers.CharField(max_length=32, required=False, allow_blank=True)
    model = Reference(GearModel)
    size = serializers.CharField(max_length=24, required=False, allow_blank=True)
    colour = serializers.CharField(max_length=40, required=False, allow_blank=True)
    notes = serializers.CharField(max_length=500, required=False, allow_blank=True)
    made_on = PartialDateField(required=False, allow_null=True)
    made_on_evidence = WordField(Evidence, required=False)
    made_for_one_player = serializers.BooleanField(required=False)
    add_ons = serializers.ListField(child=serializers.CharField(max_length=80), max_length=40, required=False)
    acquired_on = DayField(required=False, allow_null=True)
    team = Reference(Team, select=("club",), required=False, allow_null=True)


class ItemBody(ItemChange):
    """An item to register. Without a serial the maker's cannot be read; a tag is made where none is given."""

    club = Reference(Club)
    kind = WordField(Kind, required=False, help_text="The model says it; given, it must agree.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The kind is the model's, and the team one of the club's."""
        faults: dict[str, list[str]] = {}
        kind, team = attrs.pop("kind", None), attrs.get("team")
        if kind and kind != attrs["model"].kind:
            faults["kind"] = [f"the model is of another kind, {attrs['model'].kind}"]
        if team and team.club_id != attrs["club"].id:
            faults["team"] = ["the team is not one of this club's"]
        if faults:
            raise serializers.ValidationError(faults)
        return attrs


class HoldBody(StrictSerializer):
    """Why the item is taken out of use, from when, and who was told."""

    reason = serializers.CharField(max_length=500)
    cause = WordField(HoldCause, required=False)
    reference = serializers.CharField(max_length=80, required=False, allow_blank=True)
    starts_on = DayField(required=False, allow_null=True)
    named_person = PersonField(required=False, allow_null=True, help_text="User name; only this person ends it.")
    told_whom = serializers.CharField(max_length=80, required=False, allow_blank=True)
    told_at = AwareDateTimeField(required=False, allow_null=True)


class ReleaseBody(StrictSerializer):
    """The hold that ends, why and on what ground. Not a crack: a photo, and a second person's own call."""

    hold = Reference(Hold)
    reason = serializers.CharField(max_length=500)
    basis = serializers.ChoiceField(
        choices=[basis.value for basis in ReleaseBasis if basis is not ReleaseBasis.RETIRED],
        default=ReleaseBasis.DEALT_WITH.value,
    )
    photo = Reference(Photo, required=False, allow_null=True, default=None)


class Retired(StrictSerializer):
    """Why, and on which day; today where none is given."""

    reason = serializers.CharField(max_length=500)
    on = DayField(required=False, allow_null=True, default=None)


class CorrectionBody(StrictSerializer):
    """Why the retirement was a mistake, a photo of this item's serial, and what should have been retired, if known."""

    reason = serializers.CharField(max_length=500)
    photo = Reference(Photo, required=False, allow_null=True, default=None, help_text="The first call needs it.")
    right_item = Reference(Item, select=("club",), required=False, allow_null=True, default=None)
    right_serial = serializers.CharField(max_length=64, required=False, allow_blank=True, default="")


class ItemFilters(Filters):
    """By name, sort, place and what the records say; ids of others give an empty list."""

    serial = TextFilter(method="by_key", help_text="Compared by its normal form.")
    tag = TextFilter(method="by_key", help_text="Compared by its normal form.")
    kind = WordFilter(Kind)
    size = TextFilter(lookup_expr="iexact")
    whereabouts = WordFilter(Whereabouts)
    retired = FlagFilter(field_name="retired_on", lookup_expr="isnull", exclude=True)
    made_from = TextFilter(
        method="by_made_from", help_text="May have been made in or after: 2021, 2021-03, 2021-03-09."
    )
    made_to = TextFilter(method="by_made_to", help_text="May have been made in or before.")
    standing = WordFilter(Standing, method="by_standing")
    issuable = FlagFilter(method="by_issuable")
    weighs = frozenset({"issuable", "standing"})

    class Meta:
        model = Item
        fields = ("club", "team", "model", "manufacturer")

    def by_key(self, items: ItemQuerySet, name: str, value: str) -> ItemQuerySet:
        """Items of this serial or tag."""
        return items.filter(**{f"{name}_key": normal_form(value)})

    def by_made_from(self, items: ItemQuerySet, name: str, value: str) -> ItemQuerySet:
        """Items that may have been made then or later; an unknown date is in no span."""
        return items.filter(made_latest__gte=_read(name, value).earliest)

    def by_made_to(self, items: ItemQuerySet, name: str, value: str) -> ItemQuerySet:
        """Items that may have been made then or earlier."""
        return items.filter(made_earliest__lte=_read(name, value).latest)

    def by_standing(self, items: ItemQuerySet, name: str, value: str) -> ItemQuerySet:
        """Items of this standing today, by the policy in force, whatever clocks are stored."""
        found = of_standing(items, Standing(value), self._day(), most=MOST_WEIGHED)
        if found is None:
            words = (
                f"the limits of more than {MOST_WEIGHED} items are being reckoned by new rules: name a club, team, "
                "model or whereabouts as well, or ask again in a minute"
            )
            raise InvalidInputError.at(f"?{name}", words, "too_many")
        return found

    def by_issuable(self, items: ItemQuerySet, name: str, value: bool) -> ItemQuerySet:  # noqa: FBT001 - the framework's call
        """Items that the gate would let out now, or the others."""
        ids = issuable_ids(items, self._day(), most=MOST_WEIGHED)
        if ids is None:
            words = f"more than {MOST_WEIGHED} items would have to be weighed: name a club, team, model or size as well"
            raise InvalidInputError.at(f"?{name}", words, "too_many")
        return items.filter(id__in=ids) if value else items.exclude(id__in=ids)

    def _day(self) -> date:
        return stamp_of(self.request.user).day


def _read(name: str, text: str) -> PartialDate:
    try:
        return PartialDate.parse(text)
    except ValueError as error:
        raise InvalidInputError.at(f"?{name}", str(error)) from error
