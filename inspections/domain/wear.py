"""How each point of an item has worn: its grades over the inspections, and which points go from bad to worse.

An inspection tells a grade of every point that it looked at: the worst of what was found there, else that nothing was.
Nothing wears back: where something was found, a later look that finds nothing there has not seen it, until the part is
put right, and then it begins anew (common practice, no source). Equal grades in a row are one stretch.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby, pairwise, takewhile
from uuid import UUID

from inspections.domain.grades import ORDER
from inspections.domain.vocabulary import Grade


@dataclass(frozen=True)
class Looked:
    """One inspection: when, which points were looked at, what counted at each, and which of it was put right."""

    inspection: UUID
    at: datetime
    on: date
    points: frozenset[str]
    found: Mapping[str, Grade]
    fixed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Seen:
    """One point at one inspection; `fixed`: what was found was put right, on the spot or later."""

    inspection: UUID
    on: date
    grade: Grade
    fixed: bool = False

    @property
    def height(self) -> int:
        """Its place among the grades, mildest 0."""
        return ORDER.index(self.grade)


@dataclass(frozen=True)
class PointWear:
    """A point with every grade that it was given, oldest first."""

    point: str
    seen: tuple[Seen, ...]

    @property
    def stretches(self) -> tuple[Seen, ...]:
        """The first of each stretch of equal grades since the part was last put right; what was found stays found."""
        since = max((at for at, each in enumerate(self.seen) if each.fixed), default=-1) + 1
        before = takewhile(lambda each: not each.height, self.seen[since:])
        found = (each for each in self.seen[since:] if each.height)
        return tuple(next(same) for _, same in groupby((*before, *found), key=lambda each: each.grade))

    @property
    def changes(self) -> tuple[Seen, ...]:
        """The first of each stretch of equal grades, whatever was put right between."""
        return tuple(next(same) for _, same in groupby(self.seen, key=lambda each: (each.grade, each.fixed)))

    @property
    def worsening(self) -> tuple[Seen, ...]:
        """The last three stretches, where each was worse than the one before: worse twice in a row; else nothing."""
        last = self.stretches[-3:]
        worse = all(one.height < other.height for one, other in pairwise(last))
        return last if len(last) == 3 and worse else ()  # noqa: PLR2004 - worse twice takes three


def wear_of(inspections: Iterable[Looked]) -> list[PointWear]:
    """Every point at which something was ever found, by its code; inspections in any order."""
    looked = sorted(inspections, key=lambda each: (each.at, each.inspection))
    points = sorted({point for each in looked for point in each.found})
    return [PointWear(point, tuple(_seen(point, looked))) for point in points]


def _seen(point: str, looked: Iterable[Looked]) -> Iterator[Seen]:
    for each in looked:
        if point in each.points or point in each.found:
            grade = each.found.get(point, Grade.NOTHING_FOUND)
            yield Seen(each.inspection, each.on, grade, point in each.fixed)
