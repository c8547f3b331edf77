"""The daily mail's text: what wants a hand now, this week, what was put off; many items of one cause are one line."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from gearlife.domain.mails import counted, folded, plain
from gearlife.domain.vocabulary import Kind, Severity

MOST_LINES = 25
THIS_WEEK = timedelta(days=7)
SECTIONS = {
    "stop": "MUST NOT BE WORN",
    "now": "To be dealt with now",
    "week": "Falls within a week",
    "put_off": "Put off",
}


@dataclass(frozen=True)
class Cause:
    """Open alerts with the same words: of how many items, of which kind (None: mixed, or none), one of them by name."""

    severity: Severity
    because: str
    falls_on: date
    count: int
    kind: Kind | None
    name: str
    model: str
    noticed: int = 0
    put_off_until: date | None = None
    put_off_reason: str = ""

    def section(self, day: date) -> str:
        """Where it stands in the mail of a day; empty where it is only counted."""
        if self.severity == Severity.STOP:
            return "stop"
        if self.put_off_until and self.put_off_until > day:
            return "put_off"
        if self.severity == Severity.ACT:
            return "now"
        return "week" if self.falls_on <= day + THIS_WEEK else ""

    @property
    def line(self) -> str:
        """One line."""
        what = self.name if self.count == 1 and self.name else counted([self.kind] * self.count)
        model = f" ({self.model})" if self.model else ""
        noticed = f" (noticed: {self.noticed} of {self.count})" if self.noticed else ""
        put_off = f" Put off to {self.put_off_until}: {self.put_off_reason}" if self.put_off_until else ""
        return plain(f"{what}{model}{noticed}: {self.because}{put_off}")


def digest(causes: Iterable[Cause], day: date) -> list[str]:
    """The paragraphs of a day; none when nothing wants a hand."""
    sorted_in: dict[str, list[Cause]] = {section: [] for section in (*SECTIONS, "")}
    for cause in causes:
        sorted_in[cause.section(day)].append(cause)
    later = sum(cause.count for cause in sorted_in.pop(""))
    paragraphs = [_paragraph(SECTIONS[name], listed) for name, listed in sorted_in.items() if listed]
    if paragraphs and later:
        paragraphs.append(folded(f"{later} more fall later than in a week; the alerts tell of them."))
    return paragraphs


def _paragraph(title: str, causes: Sequence[Cause]) -> str:
    return "\n".join([title, *_lines(sorted(causes, key=lambda each: (each.falls_on, -each.count)))])


def _lines(causes: Sequence[Cause]) -> Iterator[str]:
    for cause in causes[:MOST_LINES]:
        yield folded(cause.line, first="- ", indent="  ")
    if rest := sum(cause.count for cause in causes[MOST_LINES:]):
        yield f"- and {rest} more, of other causes: see the alerts"
