"""What a file would do, row by row, as it is shown before it is taken in."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from hashlib import sha256

from gearlife.domain.intake.faults import CellFault


class Deed(StrEnum):
    """What a row does to the records; `nothing`: as it stands it cannot be taken in."""

    NEW = "new"
    CHANGES = "changes"
    UNCHANGED = "unchanged"
    NOTHING = "nothing"


@dataclass(frozen=True)
class Change:
    """One column that a row changes: what is recorded, and what the row says."""

    column: str
    before: str
    after: str


@dataclass(frozen=True)
class RowPlan:
    """What one row does, by itself."""

    deed: Deed
    changes: Sequence[Change] = ()


@dataclass(frozen=True)
class PlannedRow:
    """One row of the file: its number (heading = 1), what it names, what it does, and what is wrong or doubtful."""

    number: int
    name: str
    deed: Deed
    changes: Sequence[Change] = ()
    faults: Sequence[CellFault] = ()
    doubts: Sequence[CellFault] = ()


@dataclass(frozen=True)
class Outline:
    """Every row of a file with what is wrong; `of_file` are the faults that lie in no row: a heading, say."""

    rows: Sequence[PlannedRow]
    of_file: Sequence[CellFault] = ()
    notes: Sequence[str] = field(default_factory=list)

    @property
    def digest(self) -> str:
        """The SHA-256 of all that it says: another digest, and the file would do another thing than was shown."""
        said = [
            [row.number, row.deed, [[c.column, c.before, c.after] for c in row.changes], *_lines(row)]
            for row in self.rows
        ]
        text = json.dumps([said, [fault.line for fault in self.of_file], list(self.notes)], ensure_ascii=False)
        return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def outline_of(
    names: Mapping[int, str],
    plans: Mapping[int, RowPlan],
    faults: Iterable[CellFault],
    doubts: Iterable[CellFault],
    notes: Sequence[str],
) -> Outline:
    """The outline of rows by number: what each names, what it does, and the faults and doubts of all of them."""
    faults_of, doubts_of = _by_row(faults), _by_row(doubts)
    rows = [
        PlannedRow(
            number=number,
            name=name,
            deed=Deed.NOTHING if faults_of.get(number) else plans.get(number, RowPlan(Deed.NOTHING)).deed,
            changes=plans[number].changes if number in plans else (),
            faults=faults_of.get(number, ()),
            doubts=doubts_of.get(number, ()),
        )
        for number, name in names.items()
    ]
    of_file = [
        fault for number, of_row in {**faults_of, **doubts_of}.items() if number not in names for fault in of_row
    ]
    return Outline(rows, of_file, list(notes))


def _by_row(faults: Iterable[CellFault]) -> Mapping[int, Sequence[CellFault]]:
    of_row: dict[int, list[CellFault]] = defaultdict(list)
    for fault in dict.fromkeys(faults):
        of_row[fault.row].append(fault)
    return of_row


def _lines(row: PlannedRow) -> list[list[str]]:
    return [[fault.line for fault in row.faults], [doubt.line for doubt in row.doubts]]
