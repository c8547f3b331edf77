"""Makers, models, items, photographs, and rules about them."""

# mypy: disable-error-code="no-untyped-call"
# factory-boy's declarations carry no annotations; what `create` gives is typed.

from datetime import datetime
from typing import Any

from factory.base import Factory
from factory.declarations import LazyAttribute, SelfAttribute, Sequence, SubFactory

from gearlife.domain.clocks import Rule
from gearlife.domain.ids import uuid7
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Evidence, Kind
from gearlife.models import Club, GearModel, Item, Manufacturer, Organisation, Photo, PolicyRule
from gearlife.operations import catalogue, items, policy
from tests.factories.moments import AT, stamp
from tests.factories.people import ClubFactory, OrganisationFactory


class ManufacturerFactory(Factory[Manufacturer]):
    """An invented maker."""

    class Meta:
        model = Manufacturer

    organisation = SubFactory(OrganisationFactory)
    name = Sequence(lambda n: f"Oakshell Works {n}")

    @classmethod
    def _create(cls, model_class: type[Manufacturer], *args: Any, **kwargs: Any) -> Manufacturer:
        return catalogue.add_manufacturer(stamp=stamp(kwargs.pop("organisation")), **kwargs)


class ModelFactory(Factory[GearModel]):
    """An invented helmet whose maker states an interval of 24 months; `kind=Kind.SHOULDER_PADS` for pads."""

    class Meta:
        model = GearModel

    manufacturer = SubFactory(ManufacturerFactory)
    name = Sequence(lambda n: f"Dome {n}")
    kind = Kind.HELMET
    certification_interval_months = LazyAttribute(lambda new: 24 if new.kind is Kind.HELMET else None)
    sizes = ("S", "M", "L", "XL")

    @classmethod
    def _create(cls, model_class: type[GearModel], *args: Any, **kwargs: Any) -> GearModel:
        kwargs["sizes"] = list(kwargs["sizes"])
        new = catalogue.NewModel(**kwargs)
        return catalogue.add_model(new=new, stamp=stamp(new.manufacturer.organisation))


class ItemFactory(Factory[Item]):
    """A helmet made in March 2026, size M, in the room since `DAY`; `made_on` is EDTF text, empty when unknown.

    `stamp` says by whom and when it is taken in; every other keyword is `NewItem`'s.
    """

    class Meta:
        model = Item

    club = SubFactory(ClubFactory)
    model = SubFactory(ModelFactory, manufacturer__organisation=SelfAttribute("...club.organisation"))
    serial = Sequence(lambda n: f"SN-{n:05d}")
    size = "M"
    made_on = "2026-03"
    made_on_evidence = Evidence.LABEL

    @classmethod
    def _create(cls, model_class: type[Item], *args: Any, **kwargs: Any) -> Item:
        by = kwargs.pop("stamp", None) or stamp(kwargs["club"].organisation)
        kwargs["made_on"] = PartialDate.parse(kwargs["made_on"]) if kwargs["made_on"] else None
        return items.register(new=items.NewItem(**kwargs), stamp=by)


def pads(club: Club, **facts: Any) -> Item:
    """A set of shoulder pads without any date."""
    model = ModelFactory.create(manufacturer__organisation=club.organisation, kind=Kind.SHOULDER_PADS)
    return ItemFactory.create(**{"club": club, "model": model, "made_on": "", **facts})


def photo(club: Club) -> Photo:
    """A stored photograph's row; no file stands behind it."""
    return Photo.objects.create(
        organisation=club.organisation,
        club=club,
        path=f"{uuid7()}.jpg",
        original_sha256="0" * 64,
        stored_sha256="1" * 64,
        width=640,
        height=480,
        received_at=AT,
    )


def rule(**values: Any) -> Rule:
    """A rule as the arithmetic takes it: twelve months from certification, effect stop, unless told otherwise."""
    usual: dict[str, Any] = {
        "id": uuid7(),
        "code": "certification",
        "anchor": Anchor.CERTIFIED,
        "counts": Counts.MONTHS,
        "amount": 12,
        "effect": Effect.STOP,
        "comparator": Comparator.REACHED,
    }
    return Rule(**usual | values)


def add_rule(organisation: Organisation, *, at: datetime = AT, **values: Any) -> PolicyRule:
    """Add one policy rule to an organisation; an age limit of ten years for all gear unless told otherwise."""
    usual: dict[str, Any] = {
        "code": "club_age_limit",
        "anchor": Anchor.MADE.value,
        "counts": Counts.MONTHS.value,
        "amount": 120,
        "effect": Effect.STOP.value,
        "source": "a rule of the tests",
        "mark": "P",
    }
    return policy.add_rules(rules=[PolicyRule(**usual | values)], reason="a test", stamp=stamp(organisation, at))[0]
