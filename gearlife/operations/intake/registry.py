"""Kinds of file that can be taken in; a package above registers its own in `AppConfig.ready`."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from gearlife.domain.access import Stamp
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.outlines import RowPlan
from gearlife.domain.intake.table import Sheet, Table
from gearlife.models import Club
from gearlife.operations.ledger import Entry


@dataclass(frozen=True)
class Plan:
    """What a file would do. `write` does it, in the transaction of the planning, and gives the ledger its lines.

    It tells how many rows are written, batch by batch. `stopped` counts the rows that are taken in with a hold that
    names their doubt.
    """

    added: int
    changed: int
    unchanged: int
    write: Callable[[Callable[[int], None]], list[Entry]]
    # Row by row, by number: asked for a preview alone.
    rows: Callable[[], Mapping[int, RowPlan]]
    stopped: int = 0


class FileKind:
    """One kind of file: first its rows are read from the text alone, then planned against the records."""

    sheet: Sheet

    def read(self, table: Table, findings: Findings, today: date) -> Sequence[Any]:
        """Cells to values; asks no database, raises nothing, and puts every fault into the findings."""
        raise NotImplementedError

    def plan(self, rows: Sequence[Any], club: Club, findings: Findings, stamp: Stamp) -> Plan:
        """Compare with the records, in a transaction; more faults go to the findings, and nothing is written yet."""
        raise NotImplementedError

    def name_of(self, row: Any) -> str:  # noqa: ANN401 - a row of this kind
        """What a row names, in a few words."""
        raise NotImplementedError

    def tagged_copy(self, table: Table, club: Club) -> str | None:  # noqa: ARG002 - for kinds that have tags
        """A copy of the file in which no row lacks its tag; None where none does."""
        return None


_kinds: dict[str, FileKind] = {}


def register_file_kinds(*kinds: FileKind) -> None:
    """Add kinds of file; the same name again replaces the earlier."""
    _kinds.update({kind.sheet.of: kind for kind in kinds})


def known_kinds() -> dict[str, FileKind]:
    """Every kind of file, by name."""
    return dict(_kinds)
