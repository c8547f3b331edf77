"""How far a file has come: told step by step to whoever asked, and for a waiting file kept where others can ask.

Progress is a hint. It may be late or lost; the row of the intake is the truth.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar, overload
from uuid import UUID

from django.core.cache import cache

STEP = 1000
KEPT_SECONDS = 3600
Row = TypeVar("Row")
# Stage, rows done, rows in all.
Tell = Callable[[str, int, int], None]


def tell_nobody(stage: str, done: int, of: int) -> None:
    """Where nobody asks."""


@dataclass(frozen=True)
class Told(Sequence[Row]):
    """Rows that tell how far they have been gone through."""

    rows: Sequence[Row]
    stage: str
    tell: Tell

    def __iter__(self) -> Iterator[Row]:
        """Each row, with a word at every thousandth and at the end."""
        for number, row in enumerate(self.rows):
            if number % STEP == 0:
                self.tell(self.stage, number, len(self.rows))
            yield row
        self.tell(self.stage, len(self.rows), len(self.rows))

    def __len__(self) -> int:
        return len(self.rows)

    @overload
    def __getitem__(self, place: int) -> Row: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Row]: ...
    def __getitem__(self, place: int | slice) -> Row | Sequence[Row]:
        return self.rows[place]


def keep_of(id_: UUID) -> Tell:
    """Keep the progress of one intake where `progress_of` finds it, from any process."""

    def keep(stage: str, done: int, of: int) -> None:
        cache.set(_key(id_), {"stage": stage, "rows_done": done, "rows": of}, KEPT_SECONDS)

    return keep


def progress_of(id_: UUID) -> dict[str, object] | None:
    """The last that was kept; None where nothing is."""
    kept: dict[str, object] | None = cache.get(_key(id_))
    return kept


def _key(id_: UUID) -> str:
    return f"intake-{id_}"
