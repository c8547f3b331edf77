"""A clock in words and figures: what the limit is, how much of it is used, what remains, and by which rule."""

from dataclasses import dataclass
from datetime import date

from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.seasons import add_months
from gearlife.domain.vocabulary import Anchor, Counts

ANCHORS = {
    Anchor.MADE: "the day of manufacture",
    Anchor.CERTIFIED: "the last certification",
    Anchor.LOOK: "the last look",
    Anchor.FULL_INSPECTION: "the last full inspection",
    Anchor.AIR_CHECK: "the last air check",
    Anchor.REFIT: "the last refit",
    Anchor.CAME_BACK: "the last return",
}


@dataclass(frozen=True)
class Explanation:
    """`used` and `remaining` are spans in words; `remaining_days` is negative once the clock has fallen."""

    limit: str
    used: str | None
    remaining: str | None
    remaining_days: int | None


def explain(*, counts: Counts, amount: int, anchor: Anchor, anchor_on: date, falls_on: date, day: date) -> Explanation:
    """Say a clock as of a day."""
    limit = f"{quantity(amount, counts)} from {ANCHORS[anchor]}"
    if UNKNOWN_DAY in (falls_on, anchor_on):
        return Explanation(f"{limit}, which is not known", None, None, None)
    left = (falls_on - day).days
    remaining = span(day, falls_on) if left > 0 else "none"
    return Explanation(limit, span(anchor_on, day), remaining, left)


def quantity(amount: int, counts: Counts) -> str:
    """`12 months`, `1 season year`."""
    unit = counts.value.replace("_", " ")
    return f"{amount} {unit[:-1] if amount == 1 else unit}"


def span(start: date, end: date) -> str:
    """The time between two days in years, months and days; none when `end` is not later."""
    if end <= start:
        return "none"
    months = (end.year - start.year) * 12 + end.month - start.month
    if add_months(start, months) > end:
        months -= 1
    days = (end - add_months(start, months)).days
    parts = [(months // 12, "year"), (months % 12, "month"), (days, "day")]
    return " ".join(f"{count} {unit}{'' if count == 1 else 's'}" for count, unit in parts if count)
