"""What the check adds to pages below it: a part of the day's page, and an act on an item."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.vocabulary import Standing
from gearlife.web.clock import now
from inspections.queries.rounds import rounds

# The day's page names so many teams; the check's own page has them all.
MOST_TEAMS = 12


def check_today(actor: Actor, day: date) -> Mapping[str, Any] | None:
    """How far the check is, team by team, those with most left first; None while nobody wears anything."""
    rows = [row for row in rounds(actor, now()) if row["worn"] and row["asked"]]
    if not rows:
        return None
    rows.sort(key=lambda row: row["not_yet"] + row["not_seen"], reverse=True)
    return {"rows": rows[:MOST_TEAMS], "more": len(rows[MOST_TEAMS:])}


def may_be_looked_over(row: Mapping[str, Any], actor: Actor) -> bool:
    """Whether looking an item over is something to do with it: not with what is retired."""
    return row["standing"] != Standing.RETIRED and actor.may_be(*WRITERS)
