"""The rows of a players file and of a file of who wears what: cells to values, and what a row by itself shows."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TypedDict

from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.intake.cells import EARLIEST_YEAR, CellReader
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.table import Row, Sheet, Table
from gearlife.domain.normal_form import SERIAL_LENGTH, normal_form

NAME_LENGTH = 60
TAG_LENGTH = 32
LAST_JERSEY = 99

PLAYERS = Sheet(
    of="players",
    columns=(
        "jersey_number",
        "given_name",
        "family_name",
        "birth_year",
        "team",
        "position",
        "head_circumference_mm",
        "chest_circumference_mm",
        "shoulder_width_mm",
        "measured_on",
    ),
    required=frozenset({"given_name", "family_name"}),
)
WORN = Sheet(
    of="worn",
    columns=("serial", "tag", "given_name", "family_name", "birth_year", "since"),
    required=frozenset({"given_name", "family_name"}),
    one_of=("serial", "tag"),
)
# Wide enough for every child and adult of ANSUR II (trade.md, section 4) and far from the same length in another unit.
LENGTHS_MM: Mapping[str, tuple[MeasurementKind, int, int]] = {
    "head_circumference_mm": (MeasurementKind.HEAD_CIRCUMFERENCE, 400, 700),
    "chest_circumference_mm": (MeasurementKind.CHEST_CIRCUMFERENCE, 400, 1600),
    "shoulder_width_mm": (MeasurementKind.SHOULDER_WIDTH, 200, 700),
}


def name_key(given_name: str, family_name: str) -> str:
    """The normal form of both names: how a row of a file finds its player."""
    return normal_form(f"{given_name} {family_name}")


class NamedCells(TypedDict):
    """The cells that name a player, and the row's number."""

    number: int
    given_name: str
    family_name: str
    birth_year: int | None


@dataclass(frozen=True)
class Named:
    """Whom a row names."""

    number: int
    given_name: str
    family_name: str
    birth_year: int | None

    @property
    def key(self) -> str:
        """The normal form of both names; empty when one of them could not be read."""
        return name_key(self.given_name, self.family_name) if self.given_name and self.family_name else ""


@dataclass(frozen=True)
class PlayerRow(Named):
    """One player; `lengths_mm` are those measured on `measured_on`."""

    jersey_number: int | None
    team: str
    position: str
    lengths_mm: Mapping[MeasurementKind, int]
    measured_on: date | None


@dataclass(frozen=True)
class WornRow(Named):
    """Who wears which item, and since when."""

    serial: str
    tag: str
    since: date | None


def read_players(table: Table, findings: Findings, today: date) -> list[PlayerRow]:
    """Every row; the faults of all of them go to the findings."""
    rows = [_player(CellReader(row, findings, frozenset(LENGTHS_MM)), row, today) for row in table.rows]
    _refuse_doubled(rows, findings)
    return rows


def _player(cells: CellReader, row: Row, today: date) -> PlayerRow:
    lengths = {
        kind: length
        for column, (kind, low, high) in LENGTHS_MM.items()
        if (length := cells.millimetres(column, low, high)) is not None
    }
    measured = any(cells.raw(column) for column in LENGTHS_MM)
    if measured and not cells.raw("measured_on"):
        cells.fault("measured_on", "give the day on which this was measured")
    return PlayerRow(
        **_named(cells, row, today),
        jersey_number=cells.whole("jersey_number", 0, LAST_JERSEY),
        team=cells.text("team", 80),
        position=cells.text("position", 24),
        lengths_mm=lengths,
        measured_on=cells.day("measured_on", today),
    )


def _named(cells: CellReader, row: Row, today: date) -> NamedCells:
    return {
        "number": row.number,
        "given_name": cells.text("given_name", NAME_LENGTH, required=True),
        "family_name": cells.text("family_name", NAME_LENGTH, required=True),
        "birth_year": cells.whole("birth_year", EARLIEST_YEAR, today.year),
    }


def read_worn(table: Table, findings: Findings, today: date) -> list[WornRow]:
    """Every row; the faults of all of them go to the findings."""
    rows = [_worn(CellReader(row, findings), row, today) for row in table.rows]
    _refuse_item_twice(rows, findings)
    return rows


def _worn(cells: CellReader, row: Row, today: date) -> WornRow:
    if not cells.raw("serial") and not cells.raw("tag"):
        cells.fault("serial", "neither serial nor tag: which item is it?")
    return WornRow(
        **_named(cells, row, today),
        serial=cells.code("serial", SERIAL_LENGTH),
        tag=cells.code("tag", TAG_LENGTH),
        since=cells.day("since", today),
    )


def _refuse_doubled(rows: Iterable[PlayerRow], findings: Findings) -> None:
    """One row a player: a name twice is ambiguous, but with two birth years."""
    named: dict[str, list[PlayerRow]] = {}
    for row in rows:
        if not row.key:
            continue
        for other in named.setdefault(row.key, []):
            if row.birth_year == other.birth_year:
                words = f"the same player stands on row {other.number}"
            elif row.birth_year is None or other.birth_year is None:
                words = f"this name stands on row {other.number} too; give both birth years"
            else:
                continue
            findings.fault(row.number, "family_name", row.family_name, words)
            break
        named[row.key].append(row)


def _refuse_item_twice(rows: Iterable[WornRow], findings: Findings) -> None:
    """One item is on one player."""
    first: dict[tuple[str, str], int] = {}
    for row in rows:
        if row.serial or row.tag:
            key = (normal_form(row.serial), normal_form(row.tag))
            if first.setdefault(key, row.number) != row.number:
                column = "serial" if row.serial else "tag"
                findings.fault(row.number, column, getattr(row, column), f"the same item stands on row {first[key]}")
