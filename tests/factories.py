"""Builders of an invented club, its people and its gear: factories through the operations, and plain functions.

`DAY` and `AT` are the fixed moment of the tests, in the middle of the season; no builder reads a clock. Call a
factory's `create(...)`: it is typed. An item of `ItemFactory` has nothing against it but that it wants a look before
it goes out.
"""

# mypy: disable-error-code="no-untyped-call"
# factory-boy's declarations carry no annotations; what `create` gives is typed.

from collections.abc import Collection
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from factory.base import Factory
from factory.declarations import LazyAttribute, SelfAttribute, Sequence, SubFactory

from fitting.domain.fits import Try, every_check_passes
from fitting.domain.vocabulary import PROTOCOLS, MeasurementKind
from fitting.models import Assignment, Fit, Measurement, Player
from fitting.operations.assignments import NewAssignment, record_worn
from fitting.operations.fits import NewFit, record_fit
from fitting.operations.measurements import NewMeasurement, record_measurement
from fitting.operations.players import NewPlayer, add_player
from gearlife.domain.access import Actor, Stamp
from gearlife.domain.clocks import Rule
from gearlife.domain.days import local_day
from gearlife.domain.ids import uuid7
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Evidence, Kind, Role
from gearlife.models import Club, GearModel, Item, Manufacturer, Organisation, Photo, PolicyRule, Season, Team, User
from gearlife.operations import access, catalogue, items, organisations, policy
from gearlife.queries.access import actor_of_user

ZONE = "America/Chicago"
# 11 in the morning in Chicago, a Wednesday in mid-season.
AT = datetime(2026, 10, 14, 16, 0, tzinfo=UTC)
DAY = date(2026, 10, 14)
SEASON_BEGINS, LAST_GAME = date(2026, 8, 15), date(2026, 12, 5)


def noon(day: date) -> datetime:
    """Noon in Chicago, by standard time, as an aware moment."""
    return datetime.combine(day, time(18), UTC)


def stamp(actor: Actor | Organisation, at: datetime = AT) -> Stamp:
    """By whom (an actor, or the organisation's own machine) and when; the day is read in the actor's time zone."""
    if isinstance(actor, Organisation):
        return organisations.own_stamp(actor, at)
    return Stamp(actor, at, local_day(at, actor.timezone))


def later(earlier: Stamp, **span: int) -> Stamp:
    """The same actor some time later: `later(stamp, days=3)`."""
    at = earlier.at + timedelta(**span)
    return replace(earlier, at=at, day=local_day(at, earlier.actor.timezone))


class OrganisationFactory(Factory[Organisation]):
    """An organisation with its ledger, default policy rules, and whatever other packages add on founding."""

    class Meta:
        model = Organisation

    name = Sequence(lambda n: f"Riverlands League {n}")
    timezone = ZONE
    at = AT

    @classmethod
    def _create(cls, model_class: type[Organisation], *args: Any, **kwargs: Any) -> Organisation:
        return organisations.found_organisation(**kwargs)


class ClubFactory(Factory[Club]):
    """A club in the middle of its season; `in_season=False` enters none."""

    class Meta:
        model = Club

    organisation = SubFactory(OrganisationFactory)
    name = Sequence(lambda n: f"Otter Bend {n}")
    code = Sequence(lambda n: f"OB{n}")
    timezone = ZONE
    in_season = True

    @classmethod
    def _create(cls, model_class: type[Club], *args: Any, **kwargs: Any) -> Club:
        own = stamp(kwargs.pop("organisation"))
        in_season = kwargs.pop("in_season")
        club = organisations.add_club(stamp=own, **kwargs)
        if in_season:
            SeasonFactory.create(club=club)
        return club


class SeasonFactory(Factory[Season]):
    """The season that `DAY` lies in."""

    class Meta:
        model = Season

    club = SubFactory(ClubFactory, in_season=False)
    year = 2026
    starts_on = SEASON_BEGINS
    ends_on = LAST_GAME

    @classmethod
    def _create(cls, model_class: type[Season], *args: Any, **kwargs: Any) -> Season:
        return organisations.add_season(stamp=stamp(kwargs["club"].organisation), **kwargs)


class TeamFactory(Factory[Team]):
    """A team of a club."""

    class Meta:
        model = Team

    club = SubFactory(ClubFactory)
    name = Sequence(lambda n: f"Herons {n}")

    @classmethod
    def _create(cls, model_class: type[Team], *args: Any, **kwargs: Any) -> Team:
        return organisations.add_team(stamp=stamp(kwargs["club"].organisation), **kwargs)


class UserFactory(Factory[User]):
    """An account without any role; `is_device=True` for a phone's own."""

    class Meta:
        model = User

    organisation = SubFactory(OrganisationFactory)
    username = Sequence(lambda n: f"person-{n}")
    is_device = False

    @classmethod
    def _create(cls, model_class: type[User], *args: Any, **kwargs: Any) -> User:
        return access.add_user(**kwargs)


def person(role: Role, *, at: Club | Team | Organisation, is_device: bool = False) -> User:
    """A user with one role, in the club, team or organisation named."""
    organisation = at if isinstance(at, Organisation) else at.organisation
    user = UserFactory.create(organisation=organisation, is_device=is_device)
    team = at if isinstance(at, Team) else None
    club = at if isinstance(at, Club) else team.club if team else None
    access.grant(user=user, role=role, club=club, team=team)
    return user


def actor(role: Role, *, at: Club | Team | Organisation, is_device: bool = False) -> Actor:
    """The same person as the operations take one."""
    return actor_of_user(person(role, at=at, is_device=is_device))


def officer(club: Club) -> Actor:
    """An equipment officer of the club."""
    return actor(Role.OFFICER, at=club)


def device(club: Club) -> Actor:
    """A phone's own account at the club: it may inspect and hold, never release."""
    return actor(Role.OFFICER, at=club, is_device=True)


def token(user: User, at: datetime = AT) -> str:
    """The secret of a new bearer token of the user, valid for a year from `at`."""
    return access.issue_token(user=user, label="test", at=at)


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


class PlayerFactory(Factory[Player]):
    """A player of a club. The names are made of figures: nobody's."""

    class Meta:
        model = Player

    club = SubFactory(ClubFactory)
    team = None
    given_name = Sequence(lambda n: f"Given{n}")
    family_name = Sequence(lambda n: f"Family{n}")
    birth_year = 2010

    @classmethod
    def _create(cls, model_class: type[Player], *args: Any, **kwargs: Any) -> Player:
        return add_player(new=NewPlayer(**kwargs), stamp=stamp(kwargs["club"].organisation))


def put_on(item: Item, player: Player | None = None, *, at: datetime = AT, by: Actor | None = None) -> Assignment:
    """Record that a player wears the item, past the gate: whatever speaks against it is a stop at once."""
    new = NewAssignment(item.id, player or PlayerFactory.create(club=item.club), issued_at=at)
    assignment = record_worn(new=new, stamp=stamp(by or item.club.organisation, at))
    item.refresh_from_db()
    return assignment


def fitted(
    item: Item, player: Player, *, by: User | None = None, at: datetime = AT, failing: Collection[str] = (), **more: Any
) -> Fit:
    """Record that the item was fitted on the player and every check passed, but for those `failing`."""
    kind = Kind(item.kind)
    results = dict(every_check_passes(kind)) | dict.fromkeys(failing, False)
    fitter = by or person(Role.OFFICER, at=item.club)
    new = NewFit(item.id, player, [Try(results)], fitted_by=fitter, fitted_at=at, **more)
    return record_fit(new=new, stamp=stamp(actor_of_user(fitter), at))


def measured(player: Player, *readings_mm: int, at: datetime = AT, kind: str = "head_circumference") -> Measurement:
    """Record one measurement of a player: a head of 560 mm, read twice, unless told otherwise."""
    new = NewMeasurement(
        player,
        MeasurementKind(kind),
        readings_mm or (559, 561),
        PROTOCOLS[MeasurementKind(kind)][0],
        taken_on=local_day(at, ZONE),
    )
    return record_measurement(new=new, stamp=stamp(player.organisation, at))


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
