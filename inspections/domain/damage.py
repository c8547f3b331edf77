"""What a report of damage comes to: how bad it counts, whether it stops the gear, which reports lie together."""

import re
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID

from inspections.domain.vocabulary import LooksLike, ReportState

OPEN = (ReportState.NEW.value, ReportState.UNDER_REVIEW.value)
# Reports of one item no further apart than this are likely of the same blow: common practice, no source.
TOGETHER = timedelta(hours=12)
# Whoever writes one of these has seen what must not be worn, however mildly it was ticked; in English alone.
GRAVE = re.compile(r"\b(crack|split|broke|fractur|shatter|snapp|torn|tore|hole|loose|missing|came off|fell off)", re.I)

R = TypeVar("R")


def counts_as(looks: LooksLike, description: str) -> LooksLike:
    """How bad it counts: what was ticked too mildly for its own words is raised, never lowered."""
    return LooksLike.DANGEROUS if GRAVE.search(description) else looks


def stops(counted: LooksLike) -> bool:
    """Whether it takes the gear out of use before anybody has looked: whoever is not sure is believed."""
    return counted is not LooksLike.MINOR


def began(seen_at: datetime, received_at: datetime) -> datetime:
    """From when it counts: a clock that is a little ahead lets nothing begin later than it is known."""
    return min(seen_at, received_at)


def together(reports: Iterable[R], *, of: Callable[[R], UUID | None], at: Callable[[R], datetime]) -> list[list[R]]:
    """Reports of one item within hours of each other, side by side; newest first, and nothing left out.

    A report of gear that nobody has found stands by itself.
    """
    groups: list[list[R]] = []
    newest: dict[UUID, list[R]] = {}
    for report in sorted(reports, key=at, reverse=True):
        item = of(report)
        group = newest.get(item) if item else None
        if group is None or at(group[-1]) - at(report) > TOGETHER:
            group = []
            groups.append(group)
        group.append(report)
        if item:
            newest[item] = group
    return groups
