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
    """Collects the faults and the notes of one file in one pass."""

    faults: list[CellFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def fault(self, row: int, column: str, value: str, reason: str) -> None:
        """A fault: the file is refused."""
        self.faults.append(CellFault(row, column, value, reason))

    def note(self, row: int, column: str, value: str, words: str) -> None:
        """Something to know; it refuses nothing."""
        self.notes.append(f"row {row}, {column}, '{shown(value)}': {words}")

    def in_order(self, columns: Sequence[str]) -> list[CellFault]:
        """Every fault once, by row and then as the columns stand."""
        place = {column: index for index, column in enumerate(columns)}
        once = dict.fromkeys(self.faults)
        return sorted(once, key=lambda fault: (fault.row, place.get(fault.column, -1)))


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
