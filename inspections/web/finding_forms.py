"""What was ticked on a page as findings."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from gearlife.domain.errors import InvalidInputError
from inspections.domain.choices import Choice, Point, grade_of
from inspections.operations.inspect import NewFinding

LONGEST_NOTE = 500


def findings_of(typed: QueryDict) -> list[NewFinding]:
    """Every fault that was ticked; InvalidInputError where none was, or a day cannot be read."""
    found = [_finding(typed, key) for key in typed.getlist("found")]
    if not found:
        words = _("Tick what you found. If you found nothing after all, go back to the two big buttons.")
        raise InvalidInputError.at("/found", words, "nothing_ticked")
    return found


def _finding(typed: QueryDict, key: str) -> NewFinding:
    point, _dot, defect = key.partition(".")
    return NewFinding(
        point=point,
        defect=defect,
        grade=grade_of(defect, comes_off=bool(typed.get(f"off.{key}"))),
        fixed_here=bool(typed.get(f"fixed.{key}")),
        note=(typed.get(f"note.{point}") or "").strip()[:LONGEST_NOTE],
        deal_with_by=day_typed(typed.get(f"by.{key}") or "", f"/by.{key}"),
    )


def day_typed(text: str, pointer: str) -> date | None:
    """A day as a date field sends it; InvalidInputError for what is none."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        words = _("This is no day: %(text)s. Write year, month and day, as 2026-09-14.") % {"text": text}
        raise InvalidInputError.at(pointer, words, "day") from error


def as_typed(points: Sequence[Point], typed: QueryDict | None) -> list[dict[str, Any]]:
    """The points with their choices as a form shows them: folded, or as they were ticked when a page comes back."""
    return [_point(point, typed) for point in points]


def _point(point: Point, typed: QueryDict | None) -> dict[str, Any]:
    choices = [_choice(choice, typed) for choice in point.choices]
    note = typed.get(f"note.{point.code}") if typed else ""
    return {"point": point, "choices": choices, "note": note, "open": any(each["found"] for each in choices)}


def _choice(choice: Choice, typed: QueryDict | None) -> dict[str, Any]:
    if typed is None:
        return {"choice": choice, "found": False}
    return {
        "choice": choice,
        "found": choice.key in typed.getlist("found"),
        "off": typed.get(f"off.{choice.key}"),
        "fixed": typed.get(f"fixed.{choice.key}"),
        "by": typed.get(f"by.{choice.key}"),
    }
