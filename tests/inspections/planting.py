"""A person of whom every column holds a string that stands nowhere else, and a search that finds such strings."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import connection, transaction

from fitting.domain.counted_gear import CountedKind
from fitting.domain.receipts import SignedAs
from fitting.domain.vocabulary import BodyChange, LineState, PlanOutcome, PlanState
from fitting.models import AllocationPlan, Measurement, PlanLine, Player, SetAside
from fitting.operations.assignments import NewAssignment, record_worn, return_item
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.operations.fits import report_change
from fitting.operations.measurements import note_reads
from fitting.operations.receipts import NewReceipt, Signature, make_acknowledged
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import CertificationKind, Kind, ReleaseBasis, Role
from gearlife.models import Alert, Club, Item, Team, User
from gearlife.operations import alerts, holds, items
from gearlife.operations.certifications import NewCertification, certify
from gearlife.operations.intake import files_in_hand, put_by, take_in
from gearlife.operations.outbox import drain
from gearlife.queries.access import actor_of_user
from inspections.domain.findings import NewFinding
from inspections.domain.vocabulary import Depth
from inspections.operations.damage_reports import NewReport, report_damage
from inspections.operations.damage_reviews import dismiss_report
from inspections.operations.inspect import NewInspection, record_inspection
from inspections.operations.not_seen import NewNotSeen, note_not_seen
from tests.factories import AT, DAY, ItemFactory, TeamFactory, fitted, later, person, stamp
from tests.gearlife.intake.test_taking_in_players import roster
from tests.inspections.parts import list_parts, put_in

GIVEN, FAMILY = "Qwezzle", "Vrombat"
POSITION, HAIR, PADS = "qxposition", "qxhair braided", "qxpads 17"
HEAD, ANOTHER_HEAD = 587.3, 601.7
# Whatever tells who it was, or how large: no two letters of it stand in the code.
CANARIES = (GIVEN, FAMILY, GIVEN.upper(), FAMILY.upper(), POSITION, "qxhair", "qxpads", str(HEAD), str(ANOTHER_HEAD))
SAID = f"{GIVEN} {FAMILY} said it; {FAMILY.upper()} was hit, {GIVEN} cried"
# Where nothing tells whom it is about, the whole name alone is the person's.
ELSEWHERE = f"Ask {FAMILY}, {GIVEN} or 73 {FAMILY}"


class Planted:
    """The person, with everything that the records can hold of one, nothing worn any more."""

    def __init__(self, club: Club) -> None:
        self.club = club
        self.team: Team = TeamFactory.create(club=club, name="Herons")
        self.officer: User = person(Role.OFFICER, at=club)
        self.now: Stamp = stamp(actor_of_user(self.officer))
        self.player = self._by_file()
        self.item = ItemFactory.create(club=club, team=self.team)
        self._body()
        self._gear()
        self._plan()
        self._words()
        self._ends()

    def _by_file(self) -> Player:
        self.file = roster(f"73,{GIVEN},{FAMILY},2009,Herons,{POSITION},{HEAD:.0f},,,2026-08-01")
        named: dict[str, Any] = {"of": None, "club": self.club, "filename": f"{FAMILY}.csv", "stamp": self.now}
        take_in(self.file.encode(), id=uuid7(), **named)
        self.in_hand = files_in_hand.keep(
            self.file.replace("73,", "74,").encode(), **named, stop_doubtful=False, id_=uuid7()
        )
        found: Player = Player.objects.get(family_name=FAMILY)
        return found

    def _body(self) -> None:
        Measurement.objects.filter(player=self.player).update(readings_mm=[HEAD, ANOTHER_HEAD])
        note_reads(player_ids=[self.player.id], why="a test", stamp=self.now)
        report_change(player=self.player, kind=BodyChange.HAIRCUT, on=None, stamp=self.now)
        measurement = Measurement.objects.get(player=self.player)
        facts: dict[str, Any] = {"hairstyle": HAIR, "pads_and_air": PADS, "measurement": measurement}
        fitted(self.item, self.player, by=self.officer, **facts)

    def _gear(self) -> None:
        new = NewAssignment(self.item.id, self.player, issued_at=AT, condition_at_issue=SAID)
        self.assignment = record_worn(new=new, stamp=self.now)
        counted = NewCounted(self.player, CountedKind.PANTS, condition_at_issue=SAID)
        [self.line] = hand_out_counted(new=[counted], stamp=self.now)
        signature = Signature(f"{FAMILY} senior", SignedAs.PARENT)
        self.receipt = make_acknowledged(new=NewReceipt(self.player), by=signature, stamp=self.now)
        note_not_seen(new=NewNotSeen(self.item, note=f"{FAMILY} ill"), stamp=self.now)
        finding = NewFinding("shell", "crack", note=SAID, part=FAMILY)
        record_inspection(new=NewInspection(self.item, findings=[finding], looked_by=FAMILY), stamp=self.now)
        report = report_damage(new=NewReport(self.club, SAID, item=self.item), stamp=self.now)
        dismiss_report(report=report, reason=SAID, stamp=stamp(self.club.organisation))
        report_damage(new=NewReport(self.club, ELSEWHERE, serial=f"{GIVEN} {FAMILY}"), stamp=self.now)
        list_parts(self.item.model)
        put_in(self.item, "crown", "Crown 40", self.now, reason=SAID)

    def _plan(self) -> None:
        owned: dict[str, Any] = {"organisation": self.club.organisation, "kind": Kind.HELMET.value}
        plan = AllocationPlan.objects.create(
            **owned,
            state=PlanState.APPLIED.value,
            asked_on=DAY,
            asked_at=AT,
            notes=[ELSEWHERE],
            short=[{"a": ELSEWHERE}],
        )
        owned |= {"plan": plan, "player": self.player, "item": self.item}
        states = {"outcome": PlanOutcome.PLANNED.value, "state": LineState.SET_ASIDE.value}
        PlanLine.objects.create(**owned, **states, because=SAID, state_because=SAID)
        SetAside.objects.create(**owned, made_at=AT)

    def _words(self) -> None:
        """What people type of gear, on the person's item and on another's."""
        other = ItemFactory.create(club=self.club)
        holds.hold(new=holds.NewHold(self.item.id, SAID), stamp=self.now)
        holds.hold(new=holds.NewHold(other.id, ELSEWHERE), stamp=self.now)
        alert = Alert.objects.filter(item=self.item, closed_at=None).order_by("id")[0]
        alerts.acknowledge(alert=alert, note=SAID, told_whom=FAMILY, told_at=AT, stamp=self.now)
        items.change(item=fresh(other), changes={"notes": ELSEWHERE}, stamp=self.now)
        certify(
            item=fresh(self.item),
            new=NewCertification(kind=CertificationKind.ORIGINAL, certified_on=DAY, firm=f"{FAMILY} works"),
            stamp=self.now,
        )
        drain(later(self.now, minutes=1).at)

    def _ends(self) -> None:
        after = later(self.now, hours=1)
        return_item(assignment=self.assignment, at=after.at, condition=f"{GIVEN} bent it", stamp=after)
        record_inspection(new=NewInspection(fresh(self.item), depth=Depth.FULL), stamp=after)
        take_back_counted(new=[NewReturn(self.line, condition=SAID)], stamp=after)
        for hold in self.item.holds.filter(released_at=None, reason=SAID):
            holds.release(hold=hold, reason=SAID, basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=after)
        items.retire(item=fresh(self.item), reason=SAID, on=None, stamp=after)

    def wait_with_a_file(self) -> None:
        """A large file that names the person waits for a worker."""
        with transaction.atomic():
            put_by(
                self.file.encode(),
                of=None,
                club=self.club,
                filename="large.csv",
                stop_doubtful=False,
                stamp=self.now,
                id_=uuid7(),
            )


def fresh(item: Item) -> Item:
    """As it is by now."""
    found: Item = Item.objects.get(id=item.id)
    return found


def in_tables(canaries: Iterable[str]) -> Iterator[str]:
    """Where they stand in the tables, by every row as text."""
    for model in apps.get_models(include_auto_created=True):
        table = model._meta.db_table
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {table}")  # noqa: S608 - our own tables
            names = [column[0] for column in cursor.description]
            for row in cursor.fetchall():
                for name, value in zip(names, row, strict=True):
                    yield from (f"{table}.{name}: {canary}" for canary in canaries if canary in str(value))


def in_files(folders: Iterable[Path], canaries: Iterable[str]) -> Iterator[str]:
    """Where they stand in files, and in their names."""
    for path in (each for folder in folders for each in folder.rglob("*") if each.is_file()):
        content = path.read_bytes()
        for canary in canaries:
            if canary.encode() in content or canary in path.name:
                yield f"{path.name}: {canary}"


def in_database_file(canaries: Iterable[str]) -> Iterator[str]:
    """Where they stand in SQLite's own files, in pages that are free as well."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    at = Path(connection.settings_dict["NAME"])
    for path in (at, at.with_name(f"{at.name}-wal")):
        content = path.read_bytes() if path.exists() else b""
        for canary in canaries:
            if canary.encode() in content:
                place = content.index(canary.encode())
                yield f"{path.name}: {canary}: {content[max(0, place - 60) : place + 60]!r}"
