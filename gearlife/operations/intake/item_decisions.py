"""Row by row: is this a new item, a change of a known one, or nothing new; and what the records say against it."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from uuid import UUID

from gearlife.domain.intake.faults import CellFault, Findings
from gearlife.domain.intake.item_rows import ITEMS, ItemRow, doubt_of_this_year, shortened_serials
from gearlife.domain.normal_form import normal_form
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.tags import is_misread
from gearlife.domain.vocabulary import CertificationKind, Evidence
from gearlife.models import Club, Item
from gearlife.operations.certifications import NewCertification
from gearlife.operations.holds import NewHold
from gearlife.operations.intake.item_doubts import holds_of
from gearlife.operations.intake.item_records import ItemRecords
from gearlife.operations.items import tag_prefix
from gearlife.queries.namesakes import Namesake

RECERTIFIED = CertificationKind.RECERTIFICATION
PLAIN = ("colour", "notes", "acquired_on")


@dataclass(frozen=True)
class ItemChange:
    """A row's known item, the columns that it changes, a certification and doubts that were not recorded yet."""

    number: int
    item: Item
    values: dict[str, object]
    certification: NewCertification | None
    holds: Sequence[NewHold] = ()


@dataclass
class Decisions:
    """What is to be added and changed, what stays as it is; the doubts by row, and which rows get a hold for them."""

    additions: list[ItemRow] = field(default_factory=list)
    changes: list[ItemChange] = field(default_factory=list)
    unchanged: list[int] = field(default_factory=list)
    doubts: dict[int, list[CellFault]] = field(default_factory=dict)
    stopped: set[int] = field(default_factory=set)


@dataclass
class Decider:
    """Decides the rows of one file against the records."""

    club: Club
    records: ItemRecords
    findings: Findings
    today: date
    # Known items that the file itself names: beside one of them a new one in use is no slip.
    _named: set[UUID] = field(default_factory=set)

    def decide(self, rows: Sequence[ItemRow]) -> Decisions:
        """Decide every row that names an item; what else is wrong with the others is known already."""
        decisions = Decisions()
        known = [(row, *self._known(row)) for row in rows if row.maker_key and (row.serial_key or row.tag_key)]
        self._named |= {item.id for _, item, _ in known if item}
        shortened = shortened_serials(rows)
        for row, item, settled in known:
            self._doubt(row, item)
            if settled and item is None:
                self._doubt_name(row, shortened.get(row.number))
        decisions.doubts = self.findings.doubts_of_rows(ITEMS.columns)
        for row, item, settled in known:
            doubts = decisions.doubts.get(row.number, [])
            believed = self._believed(row, doubts)
            if item:
                self._decide(believed, item, decisions)
            elif settled:
                self._note_misread_tag(row)
                if not doubts:
                    self._note_alike(row)
                decisions.additions.append(believed)
                decisions.stopped |= {row.number} if doubts else set()
        return decisions

    def _believed(self, row: ItemRow, doubts: Sequence[CellFault]) -> ItemRow:
        """The row without a doubtful date of manufacture, where it is taken in stopped: unknown, it lifts no limit."""
        is_doubted = self.findings.stop_doubtful and any(doubt.column == "made_on" for doubt in doubts)
        return replace(row, made_on=None) if is_doubted else row

    def _note_misread_tag(self, row: ItemRow) -> None:
        if is_misread(row.tag_key, tag_prefix(self.club)):
            words = "looks like one of the club's tags, but its last character does not check; is it typed right?"
            self.findings.note(row.number, "tag", row.tag, words)

    def _doubt(self, row: ItemRow, item: Item | None) -> None:
        """What the row says and the records make doubtful; nothing is doubted of what they have already."""
        if item and item.retired_on:
            return
        if item and self._renews_lapsed(row, item):
            words = "its certification has lapsed, and a file lifts no stop: record it with evidence through the item"
            self.findings.doubt(row.number, "certified_on", str(row.certified_on), words)
        doubt = doubt_of_this_year(row.made_on, self.today)
        if doubt and (item is None or item.made_on != str(row.made_on)):
            self.findings.doubt(row.number, "made_on", str(row.made_on), doubt)

    def _doubt_name(self, row: ItemRow, shortened: str | None) -> None:
        if alike := self._alike(row):
            self.findings.doubt(row.number, *_name(row), alike)
        elif shortened:
            self.findings.doubt(row.number, "serial", row.serial, shortened)

    def _alike(self, row: ItemRow) -> str | None:
        """Why a new item may be one that is out of use, or one of the same maker that lost its zeros."""
        for other in self.records.namesakes.get(row.name_key, ()):
            if other.state:
                way_out = "write serial and maker as the records have them if it is that one; if not, look at its shell"
                return f"much like {other.words}, which {other.state}: {way_out}"
            if other.item_id not in self._named and _is_twin(row, other):
                return (
                    f"'{other.label}' of this maker is registered, with the same digits but for zeros at the beginning"
                )
        return None

    def _note_alike(self, row: ItemRow) -> None:
        """A new item named like one in use that the file does not name besides: two helmets, or one typed twice."""
        others = self.records.namesakes.get(row.name_key, ())
        if other := next((other for other in others if other.item_id not in self._named), None):
            self.findings.note(row.number, *_name(row), f"much like {other.words}; is it another one?")

    def _decide(self, row: ItemRow, item: Item, decisions: Decisions) -> None:
        if item.club_id != self.club.id:
            column = "serial" if row.serial_key else "tag"
            self._fault(row, column, f"this item is registered with another club, {item.club}")
        elif item.retired_on:
            self.findings.note(row.number, "serial", item.label, f"retired on {item.retired_on}, and stays so")
            decisions.unchanged.append(row.number)
        else:
            change = self._change(row, item)
            doubts = decisions.doubts.get(row.number, [])
            holds = [hold for hold in holds_of(item, doubts) if hold.origin_id not in self.records.origins]
            change = replace(change, holds=holds)
            decisions.stopped |= {row.number} if holds else set()
            if change.values or change.certification or change.holds:
                decisions.changes.append(change)
            else:
                decisions.unchanged.append(row.number)

    def _fault(self, row: ItemRow, column: str, reason: str) -> None:
        value = getattr(row, column)
        self.findings.fault(row.number, column, "" if value is None else str(value), reason)

    def _known(self, row: ItemRow) -> tuple[Item | None, bool]:
        """The item that a row names, and whether that is settled; what is not settled is a fault."""
        tagged = self.records.by_tag.get(row.tag_key) if row.tag_key else None
        if not row.serial_key:
            return tagged, True
        same_serial = self.records.by_serial.get(row.serial_key, ())
        maker = self.records.makers.get(row.maker_key)
        item = next((known for known in same_serial if maker and known.manufacturer_id == maker.id), None)
        if tagged and tagged is not item:
            way_out = "" if tagged.serial else ": write its serial down through the item first"
            self._fault(row, "tag", f"this tag is on another item, {tagged.label}{way_out}")
            return item, False
        if item is None and maker is None and same_serial:
            # A maker misspelt would make a second record of one helmet, without the first one's holds.
            makers = ", ".join(f"'{known.manufacturer}'" for known in same_serial)
            self._fault(row, "manufacturer", f"this maker is not known, and the serial is registered of {makers}")
            return None, False
        return item, True

    def _change(self, row: ItemRow, item: Item) -> ItemChange:
        self._refuse_another_model(row, item)
        values: dict[str, object] = {}
        if self._makes_older(row, item):
            values["made_on"] = row.made_on
        for column in PLAIN:
            if (value := getattr(row, column)) and value != getattr(item, column):
                values[column] = value
        for column in ("size", "tag"):
            value = getattr(row, column)
            if value and normal_form(value) != normal_form(getattr(item, column)):
                values[column] = value
        self._refuse_before_made(row, item)
        return ItemChange(row.number, item, values, self._new_certification(row, item))

    def _refuse_another_model(self, row: ItemRow, item: Item) -> None:
        registered = f"it is registered as {item.kind} '{item.model}' of '{item.manufacturer}'"
        if row.kind and row.kind != item.kind:
            self._fault(row, "kind", registered)
        if row.maker_key != item.manufacturer.name_key:
            self._fault(row, "manufacturer", registered)
        if row.model_key and row.model_key != item.model.name_key:
            self._fault(row, "model", registered)

    def _makes_older(self, row: ItemRow, item: Item) -> bool:
        """Whether the file's date is an earlier one that may stand; one that makes it younger is a fault."""
        if row.made_on is None or str(row.made_on) == item.made_on:
            return False
        if item.made_earliest is None or item.made_latest is None:
            words = "no date is recorded; record it with its evidence through the item, a file does not give it"
            self._fault(row, "made_on", words)
            return False
        if row.made_on.earliest <= item.made_earliest and item.made_latest <= row.made_on.latest:
            return False
        by_file = item.made_on_evidence == Evidence.CLUBS_FILE
        if row.made_on.earliest <= item.made_earliest and by_file:
            return True
        known = f"the record says {item.made_on} ({item.made_on_evidence})"
        is_younger = row.made_on.earliest > item.made_earliest
        why = "no file makes an item younger" if is_younger else "it rests on evidence"
        self._fault(row, "made_on", f"{known}: {why}; correct it with evidence through the item")
        return False

    def _refuse_before_made(self, row: ItemRow, item: Item) -> None:
        """Days of the file against the recorded date of manufacture; the file's own is compared by the reading."""
        if row.made_on or item.made_earliest is None:
            return
        for column in ("certified_on", "acquired_on"):
            day = getattr(row, column)
            if day and day < item.made_earliest:
                self._fault(row, column, f"the record says it was made no earlier than {item.made_earliest}")

    def _new_certification(self, row: ItemRow, item: Item) -> NewCertification | None:
        known: set[tuple[date | None, str]] = self.records.certified.get(item.id, set())
        if row.certified_on is None or (row.certified_on, normal_form(row.certified_by)) in known:
            return None
        return certification_of(row, PartialDate.parse(item.made_on) if item.made_on else None)

    def _renews_lapsed(self, row: ItemRow, item: Item) -> bool:
        """Whether the row tells of a newer certification of an item that is stopped by the lapse of its last."""
        new = self._new_certification(row, item) if item.id in self.records.lapsed else None
        counted_from = item.certified_on or item.made_earliest or date.min
        return bool(new and new.kind is RECERTIFIED and new.certified_on and new.certified_on > counted_from)


def _name(row: ItemRow) -> tuple[str, str]:
    """The column that names the item, and what stands there."""
    return ("serial", row.serial) if row.serial_key else ("tag", row.tag)


def _is_twin(row: ItemRow, other: Namesake) -> bool:
    """Whether a serial of figures is another's of the same maker but for zeros at the beginning."""
    keys = row.serial_key, other.serial_key
    of_figures = all(key.isascii() and key.isdecimal() for key in keys)
    return of_figures and row.maker_key == other.maker_key and keys[0].lstrip("0") == keys[1].lstrip("0")


def certification_of(row: ItemRow, made_on: PartialDate | None) -> NewCertification | None:
    """What a row says of certification: without a firm, on a day on which it may have been made, the original one."""
    if row.certified_on is None:
        return None
    original = not row.certified_by and made_on and made_on.earliest <= row.certified_on <= made_on.latest
    return NewCertification(
        kind=CertificationKind.ORIGINAL if original else RECERTIFIED,
        certified_on=row.certified_on,
        firm=row.certified_by,
        evidence=Evidence.CLUBS_FILE,
    )
