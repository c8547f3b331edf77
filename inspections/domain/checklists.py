"""Checklists as data: points to look at, the defects that each may have, and how mild a defect can at most be taken."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gearlife.domain.errors import Fault
from gearlife.domain.vocabulary import Kind
from inspections.domain.grades import graver
from inspections.domain.vocabulary import Grade

SHELL, CRACK = "shell", "crack"

Points = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Defect:
    """How mild a defect can at most be taken, and whether it ends the item's use."""

    mildest: Grade = Grade.NOTHING_FOUND
    ends_use: bool = False


# By the code of the point, then by that of the defect.
Known = Mapping[str, Mapping[str, Defect]]


def is_shell_crack(kind: Kind, point: str, defect: str) -> bool:
    """Whether it is a crack of a helmet's shell, which no checklist can make harmless."""
    return (kind, point, defect) == (Kind.HELMET, SHELL, CRACK)


def known_points(kind: Kind, points: Points) -> Known:
    """The points and defects of a checklist; a shell crack is never below `stop`, and always ends the use."""
    return {
        point["code"]: {defect["code"]: _defect(kind, point["code"], defect) for defect in point["defects"]}
        for point in points
    }


def faults_of_revision(kind: Kind, points: Points) -> Iterator[Fault]:
    """What is wrong with a new revision: codes that come twice, a helmet's shell crack left out or made mild."""
    yield from _twice(points, "/points")
    if kind is Kind.HELMET and CRACK not in known_points(kind, points).get(SHELL, {}):
        yield Fault(
            "A helmet's checklist asks for the point `shell` with the defect `crack`.", "/points", "no_shell_crack"
        )
    for number, point in enumerate(points):
        place = f"/points/{number}/defects"
        yield from _twice(point["defects"], place)
        for row, defect in enumerate(point["defects"]):
            given = Grade(defect["mildest"])
            if is_shell_crack(kind, point["code"], defect["code"]) and graver(given, Grade.STOP) is not given:
                yield Fault("A shell crack is never milder than `stop`.", f"{place}/{row}/mildest", "shell_crack")


def _defect(kind: Kind, point: str, defect: Mapping[str, Any]) -> Defect:
    mildest, ends_use = Grade(defect["mildest"]), bool(defect.get("ends_use"))
    if is_shell_crack(kind, point, defect["code"]):
        return Defect(graver(mildest, Grade.STOP), ends_use=True)
    return Defect(mildest, ends_use)


def _twice(coded: Iterable[Mapping[str, Any]], pointer: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for number, each in enumerate(coded):
        if each["code"] in seen:
            yield Fault(f"The code {each['code']} comes twice.", f"{pointer}/{number}/code", "duplicate_code")
        seen.add(each["code"])
