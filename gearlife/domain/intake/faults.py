"""What is wrong with a file, by row and column as a spreadsheet shows them; and what a reader should know besides."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from gearlife.domain.errors import Fault, InvalidInputError

LONGEST_SHOWN = 80


@dataclass(frozen=True)
class CellFault:
    """One fault: the row (heading = 1), the column, what stands there, and why it cannot be taken."""

    row: int
    column: str
    value: str
    reason: str
    is_doubt: bool = False

    @property
    def line(self) -> str:
        """One line for people."""
        return f"row {self.row}, {shown(self.column)}, '{shown(self.value)}': {self.reason}"

    @property
    def pointer(self) -> str:
        """The place as a JSON pointer (RFC 6901)."""
        column = self.column.replace("~", "~0").replace("/", "~1")
        return f"/rows/{self.row}/{column}"


def shown(value: str) -> str:
    """A cell in one printable line, cut where it is long."""
    line = "".join(c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode("ascii") for c in value)
    return line if len(line) <= LONGEST_SHOWN else f"{line[:LONGEST_SHOWN]}..."


@dataclass
class Findings:
    """Collects the faults, doubts and notes of one file in one pass.

    A doubt refuses the file like a fault, unless it is to be taken in with the doubtful rows stopped.
    """

    stop_doubtful: bool = False
    faults: list[CellFault] = field(default_factory=list)
    doubts: list[CellFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def fault(self, row: int, column: str, value: str, reason: str) -> None:
        """A fault: the file is refused."""
        self.faults.append(CellFault(row, column, value, reason))

    def doubt(self, row: int, column: str, value: str, reason: str) -> None:
        """A doubt: somebody has to look at the item itself before the row can be believed."""
        self.doubts.append(CellFault(row, column, value, f"doubtful: {reason}", is_doubt=True))

    def note(self, row: int, column: str, value: str, words: str) -> None:
        """Something to know; it refuses nothing."""
        self.notes.append(f"row {row}, {column}, '{shown(value)}': {words}")

    @property
    def refusing(self) -> list[CellFault]:
        """What keeps the file from being taken in."""
        return self.faults if self.stop_doubtful else [*self.faults, *self.doubts]

    def in_order(self, columns: Sequence[str]) -> list[CellFault]:
        """What refuses the file, every line once, by row and then as the columns stand."""
        return _in_order(self.refusing, columns)

    def faults_in_order(self, columns: Sequence[str]) -> list[CellFault]:
        """What refuses the file whatever is done with doubts, in the same order."""
        return _in_order(self.faults, columns)

    def doubts_of_rows(self, columns: Sequence[str]) -> dict[int, list[CellFault]]:
        """The doubts by row, in the same order."""
        of_rows: dict[int, list[CellFault]] = {}
        for doubt in _in_order(self.doubts, columns):
            of_rows.setdefault(doubt.row, []).append(doubt)
        return of_rows


def _in_order(faults: Sequence[CellFault], columns: Sequence[str]) -> list[CellFault]:
    place = {column: index for index, column in enumerate(columns)}
    return sorted(dict.fromkeys(faults), key=lambda fault: (fault.row, place.get(fault.column, -1)))


class IntakeRefusedError(InvalidInputError):
    """A file of which nothing was taken in, with every fault. `tagged_file` is a copy of it with tags filled in."""

    code = "intake_refused"

    def __init__(
        self,
        detail: str,
        faults: Sequence[CellFault] = (),
        tagged_file: str | None = None,
        notes: Sequence[str] = (),
    ) -> None:
        """Keep each fault's place in both forms."""
        places = [Fault(fault.reason, fault.pointer, "cell") for fault in faults]
        super().__init__(detail, faults=places or [Fault(detail, "/file", "file")])
        self.cell_faults = tuple(faults)
        self.tagged_file = tagged_file
        self.notes = tuple(notes)
