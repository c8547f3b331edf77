"""What may be chosen when something was found: each defect with what comes of it, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from gearlife.domain.vocabulary import Kind
from inspections.domain.checklists import Known, Points, known_points
from inspections.domain.findings import STOPS, Assessed, NewFinding, assess
from inspections.domain.vocabulary import Grade

# Of a fault that the list does not name: it is to be repaired, unless whoever sees it says that it comes off.
UNNAMED = Grade.REPAIR


class Consequence(StrEnum):
    """What comes of a defect at its mildest."""

    OFF_AS_CRACKED = "off_as_cracked"
    OFF_FOR_GOOD = "off_for_good"
    OFF = "off_until_dealt_with"
    REPAIR = "to_be_repaired"
    WEAR = "only_noted"


@dataclass(frozen=True)
class Choice:
    """One defect of one point: `key` names both; `unnamed` is whatever the list has no words for."""

    point: str
    defect: str
    label: str
    comes_of_it: Consequence
    fixable: bool
    may_wait: bool
    stops: bool

    @property
    def key(self) -> str:
        """How a form names it."""
        return f"{self.point}.{self.defect}"

    @property
    def unnamed(self) -> bool:
        """Whether it is none of the list's."""
        return not self.defect


@dataclass(frozen=True)
class Point:
    """A point to look at, with what may be found there."""

    code: str
    label: str
    help: str
    choices: Sequence[Choice]


def points_of(kind: Kind, points: Points) -> list[Point]:
    """A checklist as a form asks it: every defect that the list names, and one that it does not, at each point."""
    known = known_points(kind, points)
    return [
        Point(
            point["code"],
            point["label"],
            point.get("help", ""),
            [_choice(kind, point["code"], defect, known) for defect in (*point["defects"], {"code": "", "label": ""})],
        )
        for point in points
    ]


def grade_of(defect: str, *, comes_off: bool) -> Grade | None:
    """The grade to be given with a defect; None: its mildest counts."""
    if comes_off:
        return Grade.STOP
    return None if defect else UNNAMED


def _choice(kind: Kind, point: str, defect: Mapping[str, Any], known: Known) -> Choice:
    assessed = assess(kind, NewFinding(point, defect["code"], grade_of(defect["code"], comes_off=False)), known)
    return Choice(
        point=point,
        defect=defect["code"],
        label=defect["label"],
        comes_of_it=_comes_of_it(assessed),
        fixable=assessed.fixable,
        may_wait=assessed.counts_as is Grade.REPAIR,
        stops=assessed.counts_as in STOPS,
    )


def _comes_of_it(assessed: Assessed) -> Consequence:
    """What a defect means at its mildest."""
    if assessed.may_be_shell_crack:
        return Consequence.OFF_AS_CRACKED
    if assessed.counts_as in STOPS:
        return Consequence.OFF_FOR_GOOD if assessed.ends_use else Consequence.OFF
    return Consequence.REPAIR if assessed.counts_as is Grade.REPAIR else Consequence.WEAR
