"""The items file: planned against the records, then written in batches."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from itertools import chain

from gearlife.domain.access import Stamp
from gearlife.domain.intake.faults import CellFault, Findings
from gearlife.domain.intake.item_rows import ITEMS, ItemRow, is_nameless, read_items
from gearlife.domain.intake.records import with_tags
from gearlife.domain.intake.table import Table
from gearlife.domain.normal_form import normal_form
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import CertificationKind, Evidence
from gearlife.models import Certification, Club, GearModel, Item
from gearlife.models.inserting import insert_all
from gearlife.operations import items as operations
from gearlife.operations.certifications import NewCertification, came_back_reconditioned, told
from gearlife.operations.holds import open_holds
from gearlife.operations.intake.item_decisions import Decider, Decisions, ItemChange, certification_of
from gearlife.operations.intake.item_doubts import holds_of
from gearlife.operations.intake.item_names import ModelKey, NewNames, list_names, make_names, new_names
from gearlife.operations.intake.item_outline import row_plans
from gearlife.operations.intake.item_records import CHUNK, ItemRecords, chunks, records_of
from gearlife.operations.intake.registry import FileKind, Plan
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle, settle_new

# What is written when a cell of the file changes an item.
COLUMNS = {"tag": ("tag", "tag_key"), "made_on": ("made_on", "made_earliest", "made_latest", "made_on_evidence")}


class ItemsFile(FileKind):
    """Items by serial or tag."""

    sheet = ITEMS

    def read(self, table: Table, findings: Findings, today: date) -> Sequence[ItemRow]:
        """Cells to values."""
        return read_items(table, findings, today)

    def plan(self, rows: Sequence[ItemRow], club: Club, findings: Findings, stamp: Stamp) -> Plan:
        """Which rows are new, which change something, which say what is recorded."""
        records = records_of(rows, club, stamp.day)
        decisions = Decider(club, records, findings, stamp.day).decide(rows)
        new = new_names(rows, records)
        list_names(new, records, findings)
        if findings.stop_doubtful:
            findings.notes += [_outcome(doubt, decisions) for doubt in chain(*decisions.doubts.values())]
        return Plan(
            added=len(decisions.additions),
            changed=len(decisions.changes),
            unchanged=len(decisions.unchanged),
            stopped=len(decisions.stopped) if findings.stop_doubtful else 0,
            write=lambda tell: _write(decisions, new, records, club, stamp, tell),
            rows=lambda: row_plans(decisions),
        )

    def name_of(self, row: ItemRow) -> str:
        """Serial or tag, and what it is."""
        sort = " ".join(filter(None, (row.manufacturer, row.model, row.size)))
        named = row.serial or (f"tag {row.tag}" if row.tag else "")
        return ", ".join(filter(None, (named, sort)))

    def tagged_copy(self, table: Table, club: Club) -> str | None:
        """The file with one of the club's free tags on each row that has neither serial nor tag."""
        nameless = [row.number for row in table.rows if is_nameless(row)]
        if not nameless:
            return None
        here = {normal_form(row.cells.get("tag", "")) for row in table.rows}
        free = (tag for tag in operations.free_tags(club) if tag not in here)
        return with_tags(table.records, table.places.get("tag"), nameless, free)


def _outcome(doubt: CellFault, decisions: Decisions) -> str:
    outcome = "taken in stopped" if doubt.row in decisions.stopped else "nothing of it is new"
    return f"{doubt.line}; {outcome}"


def _write(
    decisions: Decisions,
    new: NewNames,
    records: ItemRecords,
    club: Club,
    stamp: Stamp,
    tell: Callable[[int], None],
) -> list[Entry]:
    """Write everything and settle it by the batch; the entries are left to the caller, for the ledger comes last."""
    # Read before the rules are, as every reckoning does: a change of policy in between makes the clocks stale again.
    revision = Club.objects.only("policy_revision").get(id=club.id).policy_revision
    models = make_names(new, records, stamp)
    entries: list[Entry] = []
    done = 0
    for rows in chunks(decisions.additions):
        items = [operations.build(_new_item(row, models, club), stamp) for row in rows]
        for item in items:
            item.clocks_revision = revision
        entries += _add(rows, items, decisions.doubts, stamp)
        tell(done := done + len(rows))
    for changes in chunks(decisions.changes):
        entries += _change(changes, stamp)
        tell(done := done + len(changes))
    return entries


def _add(
    rows: Sequence[ItemRow], items: Sequence[Item], doubts: Mapping[int, list[CellFault]], stamp: Stamp
) -> list[Entry]:
    beside = list(zip(rows, items, strict=True))
    stated = [(item, stated) for row, item in beside if (stated := certification_of(row, row.made_on))]
    certifications = [_certify(item, new, stamp) for item, new in stated]
    insert_all(items)
    insert_all(certifications)
    _, held = open_holds(chain(*(holds_of(item, doubts.get(row.number, ())) for row, item in beside)), stamp)
    settle_new(items, [], stamp)
    registered = [Entry("registered", item.id, operations.told(item)) for item in items]
    return registered + [Entry("certified", made.item_id, told(made)) for made in certifications] + held


def _new_item(row: ItemRow, models: dict[ModelKey, GearModel], club: Club) -> operations.NewItem:
    if row.kind is None:
        raise ValueError("a row of unknown kind was refused before")
    return operations.NewItem(
        club=club,
        model=models[row.maker_key, row.model_key, row.kind],
        serial=row.serial,
        tag=row.tag,
        size=row.size,
        colour=row.colour,
        notes=row.notes,
        made_on=row.made_on,
        made_on_evidence=Evidence.CLUBS_FILE,
        acquired_on=row.acquired_on,
    )


def _certify(item: Item, new: NewCertification, stamp: Stamp) -> Certification:
    """The row of a certification on a full day, not yet written; a recertification moves its item's anchor forwards."""
    if new.certified_on is None:
        raise ValueError("a file gives the full day of a certification")
    if new.kind is CertificationKind.RECERTIFICATION:
        item.certified_on = max(item.certified_on or new.certified_on, new.certified_on)
    certification = Certification(
        organisation_id=item.organisation_id,
        item=item,
        kind=new.kind.value,
        certified_on=new.certified_on,
        counts_from=new.certified_on,
        firm=new.firm,
        evidence=new.evidence.value,
        recorded_at=stamp.at,
    )
    came_back_reconditioned(item, certification)
    return certification


def _change(changes: Sequence[ItemChange], stamp: Stamp) -> list[Entry]:
    entries: list[Entry] = []
    certifications: list[Certification] = []
    for change in changes:
        item = change.item
        before = operations.told(item)
        _apply(item, change.values)
        after = operations.told(item)
        if changed := {name: [before[name], after[name]] for name in after if before[name] != after[name]}:
            entries.append(Entry("changed", item.id, changed))
        if change.certification:
            certifications.append(_certify(item, change.certification, stamp))
    _, held = open_holds(chain(*(change.holds for change in changes)), stamp)
    columns = {column for change in changes for name in change.values for column in COLUMNS.get(name, (name,))}
    columns |= {"certified_on", "came_back_at"} if certifications else set()
    if columns:
        Item.objects.bulk_update([change.item for change in changes], sorted(columns), batch_size=CHUNK)
    insert_all(certifications)
    settle([change.item.id for change in changes], [], stamp)
    return entries + [Entry("certified", new.item_id, told(new)) for new in certifications] + held


def _apply(item: Item, values: dict[str, object]) -> None:
    for column, value in values.items():
        match column, value:
            case "made_on", PartialDate():
                operations.set_made_on(item, value, Evidence.CLUBS_FILE)
            case "size", str():
                item.size = operations.size_of(item.model, value)
            case "tag", str():
                item.tag, item.tag_key = value, normal_form(value)
            case _:
                setattr(item, column, value)
