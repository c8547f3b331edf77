"""What every rule of the machine stands on: two organisations, people, the hour, and one way to send an act."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any, ClassVar
from uuid import UUID

from django.apps import apps
from django.core import mail
from django.db import connection, transaction
from hypothesis.stateful import RuleBasedStateMachine

from fitting.models import Player
from gearlife.domain.access import Actor, Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Effect, Kind, Role
from gearlife.models import Club, GearModel, Hold, Item, LedgerEvent, Organisation, Photo, PolicyRule
from gearlife.operations import access
from gearlife.operations.creation import body_digest, create_once
from gearlife.queries.access import actor_of_user
from tests.factories import (
    AT,
    ClubFactory,
    ItemFactory,
    ModelFactory,
    OrganisationFactory,
    PlayerFactory,
    UserFactory,
    add_rule,
    person,
    photo,
    put_on,
    stamp,
)
from tests.machine.limits import Gear, Held, Rule, day_of
from tests.machine.model import World

# Their rows say that somebody asked, and nothing of the gear.
OF_ASKING = frozenset({"gearlife_sweep", "gearlife_intake"})
Records = dict[str, list[tuple[Any, ...]]]
Call = Callable[[Stamp], object]


@dataclass
class League:
    """What all examples begin with: organisation A with two clubs, and B, of which no act of A may change a row."""

    own: Organisation
    foreign: Organisation
    clubs: list[Club]
    players: list[Player]
    models: dict[str, GearModel]
    people: list[Actor]
    device: Actor
    photo: Photo
    rules: list[Rule] = field(default_factory=list)


def found_league() -> League:
    """Made once; each example begins after it."""
    own = OrganisationFactory.create()
    clubs = [ClubFactory.create(organisation=own), ClubFactory.create(organisation=own, in_season=False)]
    people = [_officer(clubs) for _ in range(2)]
    person(Role.ADMINISTRATOR, at=own)
    _bar_unfitted_pads(own)
    helmet = ModelFactory.create(manufacturer__organisation=own)
    pads = ModelFactory.create(manufacturer=helmet.manufacturer, kind=Kind.SHOULDER_PADS)
    return League(
        own=own,
        foreign=_neighbours(),
        clubs=clubs,
        players=[PlayerFactory.create(club=club) for club in (clubs[0], clubs[0], clubs[0], clubs[1])],
        models={"helmet": helmet, "shoulder_pads": pads},
        people=people,
        device=_officer(clubs, is_device=True),
        photo=photo(clubs[0]),
        rules=_rules(own),
    )


def _officer(clubs: list[Club], *, is_device: bool = False) -> Actor:
    user = UserFactory.create(organisation=clubs[0].organisation, is_device=is_device)
    for club in clubs:
        access.grant(user=user, role=Role.OFFICER, club=club)
    return actor_of_user(user)


def _neighbours() -> Organisation:
    """Another organisation, on another calendar, with gear worn, worn past the gate, and in the room."""
    club = ClubFactory.create(organisation__timezone="Europe/Berlin", timezone="Europe/Berlin")
    put_on(ItemFactory.create(club=club))
    put_on(ItemFactory.create(club=club, made_on=""))
    ItemFactory.create(club=club)
    person(Role.ADMINISTRATOR, at=club.organisation)
    return club.organisation


def _bar_unfitted_pads(own: Organisation) -> None:
    """Stricter than the default, which only warns."""
    usual = PolicyRule.objects.get(organisation=own, code="fit_accepted")
    changes = {"kind": Kind.SHOULDER_PADS.value, "effect": Effect.NO_ISSUE.value}
    names = ("anchor", "counts", "amount", "comparator", "whereabouts", "source", "mark")
    add_rule(own, code="fit_accepted", **{name: getattr(usual, name) for name in names} | changes)


def _rules(own: Organisation) -> list[Rule]:
    """The defaults that stop or bar, as the model has them: by hand, and not from the file that the program reads."""
    ids = dict(PolicyRule.objects.filter(organisation=own).values_list("code", "id"))
    rules = [
        Rule("certification", "certified", None, "stop", kind="helmet"),
        Rule("age_limit", "made", 192, "stop", kind="helmet"),
        Rule("full_inspection", "full_inspection", 12, "no_issue"),
    ]
    for rule in rules:
        rule.id = ids[rule.code]
    return rules


class Ground(RuleBasedStateMachine):
    """One example: everything that it writes is rolled back, so no message is ever sent by its commits."""

    league: ClassVar[League]

    def __init__(self) -> None:
        super().__init__()
        self._example = transaction.atomic()
        self._example.__enter__()
        mail.outbox.clear()
        self.at = AT
        season = (date(2026, 8, 15), date(2026, 12, 5))
        self.world = World(
            rules=[Rule(**vars(rule)) for rule in self.league.rules],
            club_of={player.id: player.club_id for player in self.league.players},
            seasons={self.league.clubs[0].id: {2026: season}, self.league.clubs[1].id: {}},
        )
        self.foreign = records_of(self.league.foreign)
        self.records = records_of(self.league.own)
        # As of which day the alerts about an item, or a club's own, were last brought into line.
        self.as_of: dict[UUID, date] = {}
        # And at which moment: what turns at an hour of the day hangs on it.
        self.asked_at: dict[UUID, datetime] = {}
        self.sent: list[Call] = []
        self.last: tuple[Call, Actor] | None = None
        # Whether clocks may wait to be reckoned anew: a change of limits has not been caught up with.
        self.may_wait = False

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self._example.__exit__(None, None, None)

    @property
    def day(self) -> date:
        """Today."""
        return day_of(self.at)

    def gear(self, number: int) -> Gear:
        """One of the items."""
        return list(self.world.gear.values())[number % len(self.world.gear)]

    def player(self, number: int) -> Player:
        """One of the players."""
        return self.league.players[number % len(self.league.players)]

    def stamp(self, by: int = 0) -> Stamp:
        """Who and when: each act a minute after the one before."""
        return stamp(self.league.people[by % 2], self.at)

    def act(self, call: Call, by: int = 0, *, as_device: bool = False) -> object:
        """Send one act; the refusal where it is refused, which must not have written anything."""
        self.at += timedelta(minutes=1)
        before = self.records
        actor = self.league.device if as_device else self.league.people[by % 2]
        try:
            answer = call(stamp(actor, self.at))
        except GearlifeError as error:
            refused = error
        else:
            self.note()
            self.last = (call, actor)
            return answer
        assert_same(before, records_of(self.league.own))
        return refused

    def create(self, make: Callable[[UUID, Stamp], object], by: int = 0) -> UUID | None:
        """Send an act under an id of the client's, as `PUT` does; the id, or None where it is refused."""
        id_ = uuid7()

        def call(by_whom: Stamp) -> bool:
            digest = body_digest({"id": str(id_)})
            return create_once(
                id_=id_, resource="machine", digest=digest, stamp=by_whom, make=lambda: make(id_, by_whom)
            )

        if isinstance(self.act(call, by), GearlifeError):
            return None
        self.sent.append(call)
        return id_

    def send_again(self, call: Call, actor: Actor) -> None:
        """Whatever was lost on the way back is sent again, and changes nothing."""
        self.at += timedelta(minutes=1)
        call(stamp(actor, self.at))
        assert_same(self.records, records_of(self.league.own), but=OF_ASKING)
        self.records = records_of(self.league.own)

    def note(self, *, of_all: bool = False, in_ledger: bool = True) -> None:
        """Read anew what is recorded: of what has changed the alerts are as of today, and it is in the ledger."""
        before, self.records = self.records, records_of(self.league.own)
        old: dict[Any, Any] = dict(before["versions"])
        clubs = dict(Item.objects.filter(organisation=self.league.own).values_list("id", "club_id"))
        for id_, version in self.records["versions"]:
            if of_all or old.get(id_) != version:
                self.as_of[id_] = self.as_of[clubs[id_]] = self.day
                self.asked_at[id_] = self.at
        if in_ledger and old != dict(self.records["versions"]):
            assert before["gearlife_ledgerhead"] != self.records["gearlife_ledgerhead"], (
                "changed, and not in the ledger"
            )

    def adopt(self, gear: Gear, opened: list[Held]) -> None:
        """The holds that an act was to open, and only those, are there; keep their ids."""
        known = [hold.id for hold in gear.holds]
        rows = list(Hold.objects.filter(item_id=gear.id).exclude(id__in=known).order_by("id"))
        rows.sort(key=lambda row: (row.starts_on, row.deferred, row.ends_by))
        opened.sort(key=lambda hold: hold.told)
        assert [hold.told for hold in opened] == [(row.starts_on, row.deferred, str(row.ends_by)) for row in rows]
        for hold, row in zip(opened, rows, strict=True):
            hold.id = row.id
            if gear.retired and hold.ends_by != "named_person":
                hold.ended = "retired"
        gear.holds += opened


def moment_before(at: datetime, days: int) -> datetime:
    """So many days ago, or now."""
    return at - timedelta(days=days)


def records_of(organisation: Organisation) -> Records:
    """Every row of every table of ours that belongs to an organisation; the ledger by its head."""
    found: Records = {}
    with connection.cursor() as cursor:
        for table, key in _tables():
            named = organisation.id if connection.vendor == "postgresql" else organisation.id.hex
            cursor.execute(f"SELECT * FROM {table} WHERE organisation_id = %s ORDER BY {key}", [named])  # noqa: S608 - names of our own tables
            found[table] = [tuple(map(str, row)) for row in cursor.fetchall()]
    versions = Item.objects.filter(organisation=organisation).order_by("id").values_list("id", "version")
    return found | {"versions": list(versions)}


def assert_same(before: Records, after: Records, *, but: frozenset[str] = frozenset()) -> None:
    """Not a row is another."""
    differing = [table for table in before if table not in but and before[table] != after[table]]
    assert not differing, {table: set(before[table]) ^ set(after[table]) for table in differing}


@cache
def _tables() -> list[tuple[str, str]]:
    """Tables whose rows belong to an organisation, each with its key."""
    ours = [
        model for name in ("gearlife", "fitting", "inspections") for model in apps.get_app_config(name).get_models()
    ]
    owned = [model for model in ours if any(field.name == "organisation" for field in model._meta.fields)]
    return [(model._meta.db_table, str(model._meta.pk.column)) for model in owned if model is not LedgerEvent]
