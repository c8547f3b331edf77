"""Who wears what already, for a club taken in in mid-season: facts, recorded past the gate and never refused by it.

A file may be older than the records: what it says was so before something recorded later is a fault, and no new fact.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from uuid import UUID
from zoneinfo import ZoneInfo

from fitting.domain.intake import WORN, WornRow, read_worn
from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, record_already_worn
from fitting.operations.intake_players import find_player, players_of
from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.nearest import nearest_words
from gearlife.domain.intake.outlines import Deed, RowPlan
from gearlife.domain.intake.table import Table
from gearlife.domain.normal_form import normal_form
from gearlife.models import Club, Item
from gearlife.operations.intake import FileKind, Plan
from gearlife.operations.ledger import Entry

CHUNK = 500


@dataclass
class WornRecords:
    """The items that the file names, the club's players, and who has and had what."""

    club: Club
    by_serial: Mapping[str, Sequence[Item]]
    by_tag: Mapping[str, Item]
    players: Mapping[str, Sequence[Player]]
    of_item: Mapping[UUID, Sequence[Assignment]]
    of_player: Mapping[tuple[UUID, str], Assignment]
    in_file: dict[tuple[UUID, str], int] = field(default_factory=dict)

    def day(self, moment: datetime) -> date:
        """The moment's day on the club's calendar."""
        return local_day(moment, self.club.timezone)


class WornFile(FileKind):
    """Items on players."""

    sheet = WORN

    def read(self, table: Table, findings: Findings, today: date) -> Sequence[WornRow]:
        """Cells to values."""
        return read_worn(table, findings, today)

    def plan(self, rows: Sequence[WornRow], club: Club, findings: Findings, stamp: Stamp) -> Plan:
        """Which facts are not recorded yet."""
        records = _records(rows, club)
        facts: list[NewAssignment] = []
        plans: dict[int, RowPlan] = {}
        for row in rows:
            item, player = _item(row, records, findings), _player(row, records, findings)
            if item and item.retired_on:
                words = f"it was retired on {item.retired_on}, and nobody may wear it"
                findings.note(row.number, "serial" if row.serial else "tag", item.label, words)
            if item and player:
                fact = Matching(row, item, player, records, findings).fact()
                facts += [fact] if fact else []
                plans[row.number] = RowPlan(Deed.NEW if fact else Deed.UNCHANGED)
        return Plan(
            added=len(facts),
            changed=0,
            unchanged=len(plans) - len(facts),
            write=lambda _: _write(facts, stamp),
            rows=lambda: plans,
        )

    def name_of(self, row: WornRow) -> str:
        """The item and who wears it."""
        return f"{row.serial or row.tag}: {row.given_name} {row.family_name}"


def _write(facts: Iterable[NewAssignment], stamp: Stamp) -> list[Entry]:
    """Record the facts; they write their own lines in the ledger."""
    record_already_worn(facts, stamp)
    return []


def _records(rows: Sequence[WornRow], club: Club) -> WornRecords:
    items = _items(rows, club)
    by_serial: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        by_serial[item.serial_key].append(item)
    of_item: dict[UUID, list[Assignment]] = defaultdict(list)
    for start in range(0, len(items), CHUNK):
        ids = [item.id for item in items[start : start + CHUNK]]
        for assignment in Assignment.objects.filter(item_id__in=ids).order_by("issued_at", "id"):
            of_item[assignment.item_id].append(assignment)
    out = Assignment.objects.open().filter(player__club=club, loan=False).select_related("item").order_by("id")
    return WornRecords(
        club=club,
        by_serial=by_serial,
        by_tag={item.tag_key: item for item in items if item.tag_key},
        players=players_of(club),
        of_item=of_item,
        of_player={(assignment.player_id, assignment.kind): assignment for assignment in out},
    )


def _items(rows: Sequence[WornRow], club: Club) -> list[Item]:
    found: dict[UUID, Item] = {}
    for column in ("serial", "tag"):
        keys = sorted({key for row in rows if (key := normal_form(getattr(row, column)))})
        for start in range(0, len(keys), CHUNK):
            named = {f"{column}_key__in": keys[start : start + CHUNK]}
            items = Item.objects.filter(organisation_id=club.organisation_id, **named)
            found |= {item.id: item for item in items.select_related("manufacturer", "club").order_by("id")}
    return list(found.values())


def _item(row: WornRow, records: WornRecords, findings: Findings) -> Item | None:
    """The one item of the club that a row names; else a fault."""
    tagged = records.by_tag.get(normal_form(row.tag)) if row.tag else None
    known = list(records.by_serial.get(normal_form(row.serial), ())) if row.serial else [tagged] if tagged else []
    if tagged and known and tagged not in known:
        findings.fault(row.number, "tag", row.tag, f"this tag is on another item, {tagged.label}")
        return None
    own = [item for item in known if item.club_id == records.club.id]
    if tagged in own or len(own) == 1:
        return tagged if tagged in own else own[0]
    column = "serial" if row.serial else "tag"
    if value := getattr(row, column):
        findings.fault(row.number, column, value, _which(column, value, own, known, records))
    return None


def _which(column: str, value: str, own: Sequence[Item], known: Sequence[Item], records: WornRecords) -> str:
    if own:
        makers = ", ".join(f"'{item.manufacturer}'" for item in own)
        return f"more than one item has this serial, of {makers}: give its tag"
    if known:
        return f"this item is registered with another club, {known[0].club}"
    names = Item.objects.filter(club=records.club).exclude(**{column: ""}).values_list(column, flat=True)
    return f"no such item is registered{nearest_words(value, names)}"


def _player(row: WornRow, records: WornRecords, findings: Findings) -> Player | None:
    """The one player of the club whom a row names; else a fault."""
    player, settled = find_player(row, records.players, findings)
    if settled and player is None:
        known = (f"{each.given_name} {each.family_name}" for same in records.players.values() for each in same)
        hint = nearest_words(f"{row.given_name} {row.family_name}", known)
        words = f"no such player is recorded in this club{hint}"
        findings.fault(row.number, "family_name", row.family_name, words)
    return player


@dataclass(frozen=True)
class Matching:
    """One row whose item and player are known, against what is recorded of both."""

    row: WornRow
    item: Item
    player: Player
    records: WornRecords
    findings: Findings

    def fact(self) -> NewAssignment | None:
        """The fact to record; None when it is recorded already, or contradicts what is."""
        if self._is_recorded():
            return None
        first = self.records.in_file.setdefault((self.player.id, self.item.kind), self.row.number)
        if first != self.row.number:
            self._fault("family_name", f"this player has another {self._kind} on row {first}")
        out = [each for each in self.records.of_item.get(self.item.id, ()) if each.returned_at is None]
        if out and not self._is_later_than(out[0]):
            self._fault(self._named_by, f"another player has it since {self._since(out[0])}, by the record")
        has = self.records.of_player.get((self.player.id, self.item.kind))
        if has and not self._is_later_than(has):
            words = f"this player has another {self._kind}, {has.item.label}, since {self._since(has)}, by the record"
            self._fault(self._named_by, words)
        since, made = self.row.since, self.item.made_earliest
        if since and made and since < made:
            self._fault("since", f"the record says that the item was made no earlier than {made}")
        return NewAssignment(item_id=self.item.id, player=self.player, issued_at=self._moment())

    def _is_recorded(self) -> bool:
        """Whether the player has it by the record, or had it then and has given it back since."""
        for known in self.records.of_item.get(self.item.id, ()):
            if known.player_id != self.player.id:
                continue
            if known.returned_at is None:
                return True
            back = self.records.day(known.returned_at)
            if self.row.since is None or self.records.day(known.issued_at) <= self.row.since <= back:
                words = f"recorded, and given back on {back}; worn again, it needs a later `since`"
                self.findings.note(self.row.number, self._named_by, self.item.label, words)
                return True
        return False

    def _is_later_than(self, known: Assignment) -> bool:
        """Whether the row tells of a later day than the record; what is ended by it is no longer so."""
        return self.row.since is not None and self.row.since > self.records.day(known.issued_at)

    def _fault(self, column: str, reason: str) -> None:
        value = self.row.since or "" if column == "since" else getattr(self.row, column)
        self.findings.fault(self.row.number, column, str(value), reason)

    def _since(self, known: Assignment) -> date:
        return self.records.day(known.issued_at)

    def _moment(self) -> datetime | None:
        if self.row.since is None:
            return None
        return datetime.combine(self.row.since, time.min, ZoneInfo(self.records.club.timezone))

    @property
    def _kind(self) -> str:
        return str(self.item.kind).replace("_", " ")

    @property
    def _named_by(self) -> str:
        return "serial" if self.row.serial else "tag"
