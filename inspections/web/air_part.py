"""The air of an item on its page: each cell as a row of strokes along its days, in words, and as a table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.recorded import WITH_AIR
from gearlife.domain.vocabulary import Liner, Standing
from gearlife.models import Item
from gearlife.web.item import may
from gearlife.web.tags import day as day_words
from gearlife.web.words import words_for
from inspections.domain.air_leaks import WINDOW_DAYS, by_cell
from inspections.domain.air_records import Act, Felt, Kept, Measured, cell_words
from inspections.queries.air import leaks_of, records_of

WIDTH, HEIGHT, EDGE = 240.0, 26.0, 3.0
# A dot where it was firm, a stroke where air was moved, the highest where it would not hold.
DOT, STROKE, HIGHEST = 3.0, 14.0, 23.0


@dataclass(frozen=True)
class CellsAir:
    """A cell as it is shown: a path of strokes, a sentence that says the same, and its records, newest first."""

    name: str
    strokes: str
    sentence: str
    records: Sequence[Mapping[str, Any]]


def air_part(item: Item, actor: Actor, day: date) -> Mapping[str, Any] | None:
    """The part of an item's page; None where its liner holds no air, and none was recorded."""
    begins = day - timedelta(days=WINDOW_DAYS)
    since = datetime.combine(begins, time.min, ZoneInfo(item.club.timezone))
    cells = by_cell(records_of([item.id], since).get(item.id, []))
    if not cells and Liner(item.model.liner) not in WITH_AIR:
        return None
    verdict = leaks_of([item.id], day)[item.id]
    return {
        "cells": [_shown(name, records, begins, day) for name, records in cells.items()],
        "weeks": WINDOW_DAYS // 7,
        "width": WIDTH,
        "height": HEIGHT,
        "line": HEIGHT - 1,
        "suspected": verdict.suspected,
        "remarks": [_("A leak is suspected. %(because)s") % {"because": verdict.because}] if verdict.suspected else [],
    }


def may_look_after_air(row: Mapping[str, Any], actor: Actor) -> bool:
    """Whether looking after its air is something to do with it: where its liner holds air, and it is not retired."""
    return row["standing"] != Standing.RETIRED and row.get("liner") in WITH_AIR and may(actor, WRITERS, row.get("club"))


def _shown(name: str, records: Sequence[Kept], first: date, last: date) -> CellsAir:
    strokes = "".join(_stroke(each, first, last) for each in records)
    rows = [
        {"record": each, "what": words_for(each.says), "gauge": _gauge(each.measured)} for each in reversed(records)
    ]
    return CellsAir(cell_words(name), strokes, _sentence(records), rows)


def _gauge(measured: Measured) -> str:
    """What a gauge read, and what that is where two days can be compared."""
    if measured.pressure_kpa is None:
        return ""
    told = {
        "kpa": formats.number_format(measured.pressure_kpa, 1),
        "c": formats.number_format(measured.temperature_c or 0, 0),
    }
    words = _("%(kpa)s kPa") if measured.temperature_c is None else _("%(kpa)s kPa at %(c)s °C")
    estimate = measured.at_reference
    if estimate is None:
        return words % told
    told |= {
        "then": formats.number_format(estimate.pressure_kpa, 1),
        "error": formats.number_format(estimate.error_kpa, 1),
    }
    return _("%(reading)s; at 20 °C by the sea %(then)s ± %(error)s kPa") % {"reading": words % told, **told}


def _stroke(record: Kept, first: date, last: date) -> str:
    part = min(max((record.on - first).days / max((last - first).days, 1), 0.0), 1.0)
    height = HIGHEST if record.felt is Felt.WONT_HOLD else DOT if record.act is Act.READING else STROKE
    return f"M{round(EDGE + part * (WIDTH - 2 * EDGE), 1)} {HEIGHT - 1}v-{height}"


def _sentence(records: Sequence[Kept]) -> str:
    """How often it was looked after, how often it needed air, and what was last."""
    needed, times = sum(each.needed_air for each in records), len(records)
    last = records[-1]
    looked = ngettext("Looked after once", "Looked after %(times)d times", times) % {"times": times}
    short = ngettext("it needed air once", "it needed air %(needed)d times", needed) % {"needed": needed}
    told = {"looked": looked, "short": short, "on": day_words(last.on), "what": words_for(last.says)}
    return _("%(looked)s; %(short)s. Last, on %(on)s: %(what)s.") % told
