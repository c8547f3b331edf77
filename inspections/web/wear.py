"""How an item has worn, on its page: each point as a row of strokes along its days, in words, and as a table."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from gearlife.domain.access import Actor
from gearlife.models import Item
from gearlife.web.tags import day as day_words
from gearlife.web.words import words_for
from inspections.domain.wear import PointWear, Seen
from inspections.queries.wear import label_of, labels_of_points, wear_of_item

WIDTH, HEIGHT, EDGE = 240.0, 26.0, 3.0
# How high a stroke is by its grade, mildest first: nothing found is a dot on the line.
HEIGHTS = (3.0, 9.0, 14.0, 19.0, 23.0)


@dataclass(frozen=True)
class WornPoint:
    """A point as it is shown: a path of strokes, a sentence that says the same, and the first of each stretch."""

    name: str
    strokes: str
    sentence: str
    wear: PointWear


def wear_part(item: Item, actor: Actor, day: date) -> Mapping[str, Any] | None:
    """The part of an item's page; None while nothing was ever found."""
    wear = wear_of_item(item)
    if not wear:
        return None
    labels = labels_of_points(item)
    first = min(each.seen[0].on for each in wear)
    points = [_shown(label_of(each.point, labels), each, first, day) for each in wear]
    return {
        "points": points,
        "width": WIDTH,
        "height": HEIGHT,
        "line": HEIGHT - 1,
        "remarks": [_worse(point.name, point.wear.worsening) for point in points if point.wear.worsening],
    }


def _shown(name: str, wear: PointWear, first: date, today: date) -> WornPoint:
    strokes = "".join(_stroke(each, first, max(today, wear.seen[-1].on)) for each in wear.seen)
    return WornPoint(name, strokes, _told(wear), wear)


def _stroke(seen: Seen, first: date, last: date) -> str:
    part = (seen.on - first).days / max((last - first).days, 1)
    x = round(EDGE + part * (WIDTH - 2 * EDGE), 1)
    return f"M{x} {HEIGHT - 1}v-{HEIGHTS[seen.height]}"


def _told(wear: PointWear) -> str:
    """When something was put right, how things stand since, and whether the last look saw it."""
    said = [
        _("What was found on %(day)s was put right.") % {"day": day_words(each.on)} for each in wear.seen if each.fixed
    ]
    if wear.stretches:
        last = wear.stretches[-1]
        said.append(_("Since %(day)s: %(grade)s.") % {"day": day_words(last.on), "grade": words_for(last.grade)})
        if last.height > wear.seen[-1].height:
            said.append(_("Not seen at the last look; nothing says that it was put right."))
    return " ".join(said[-3:])


def _worse(name: str, stretches: Iterable[Seen]) -> str:
    """The remark at the head of the page."""
    steps = [f"{words_for(each.grade)} ({day_words(each.on)})" for each in stretches]
    return _("%(point)s goes from bad to worse: %(steps)s.") % {"point": name, "steps": ", ".join(steps)}
