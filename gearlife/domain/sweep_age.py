"""How old the last complete sweep is, and whether that is too old: 24 hours, a day of 25, and its own run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

LATE_AFTER = timedelta(hours=26)
# Two clocks that are set by hand differ by as much; beyond it a moment to come is a fault.
CLOCKS_DIFFER_BY = timedelta(minutes=10)


@dataclass(frozen=True)
class SweepAge:
    """When the last complete sweep ended (None: never), seen from a moment."""

    last: datetime | None
    at: datetime

    @property
    def hours(self) -> float | None:
        """Its age in hours; None when there never was one. Below nought: a clock is wrong."""
        return None if self.last is None else round((self.at - self.last) / timedelta(hours=1), 1)

    @property
    def is_clock_fault(self) -> bool:
        """Whether it ended in time to come: a clock is, or was, wrong, and its age says nothing."""
        return self.last is not None and self.last > self.at + CLOCKS_DIFFER_BY

    @property
    def is_late(self) -> bool:
        """Whether alerts may be missing."""
        return self.last is None or self.is_clock_fault or self.at - self.last > LATE_AFTER

    @property
    def words(self) -> str:
        """The age as a sentence."""
        if self.last is None:
            return "No sweep of the records was ever complete: alerts may be missing."
        if self.is_clock_fault:
            return f"Clock fault: the last complete sweep ended in time to come ({self.last.isoformat()})."
        warning = ": alerts may be missing." if self.is_late else "."
        return f"The last complete sweep of the records ended {self.hours} hours ago{warning}"


def what_was_skipped(expected: int, examined: int, skipped: Sequence[Mapping[str, str]], faults: Sequence[str]) -> str:
    """Which items a sweep did not examine and why, by name as far as they were named."""
    named = [f"{row['name'] or row['item']} ({row['why']})" for row in skipped]
    words = f"{expected - examined} of {expected} items were not examined: {', '.join(named or faults)}"
    return words + (" and more." if named and len(named) < expected - examined else ".")
