"""What the check adds to pages below it: a part of the day's page, and an act on an item."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import ngettext

from gearlife.domain.access import STOPPERS, WRITERS, Actor
from gearlife.domain.vocabulary import Standing
from gearlife.models import Item
from gearlife.web.clock import now
from inspections.domain.damage import OPEN
from inspections.models import DamageReport
from inspections.queries.damage_reports import MOST, rows_for_pages
from inspections.queries.rounds import rounds
from inspections.web.damage_reports import grouped

# The day's page names so many teams; the check's own page has them all.
MOST_TEAMS = 12
MOST_REPORTS = 8


def check_today(actor: Actor, day: date) -> Mapping[str, Any] | None:
    """How far the check is, team by team, those with most left first; None while nobody wears anything."""
    rows = [row for row in rounds(actor, now()) if row["worn"] and row["asked"]]
    if not rows:
        return None
    rows.sort(key=lambda row: row["not_yet"] + row["not_seen"], reverse=True)
    return {"rows": rows[:MOST_TEAMS], "more": len(rows[MOST_TEAMS:])}


def damage_today(actor: Actor, day: date) -> Mapping[str, Any] | None:
    """The reports of damage that wait for somebody, those of one item within hours side by side; None without any."""
    rows = rows_for_pages(DamageReport.objects.visible_to(actor).open())
    if not rows:
        return None
    groups = grouped(rows)
    return {"groups": groups[:MOST_REPORTS], "more": len(groups) > MOST_REPORTS or len(rows) == MOST}


def damage_of_item(item: Item, actor: Actor, day: date) -> Mapping[str, Any] | None:
    """What was reported of an item, newest first; None where nothing was."""
    rows = rows_for_pages(DamageReport.objects.visible_to(actor).filter(item_id=item.id))
    waiting = sum(row["state"] in OPEN for row in rows)
    said = ngettext("A damage report waits for somebody.", "%(count)s damage reports wait for somebody.", waiting)
    return {"rows": rows, "remarks": [said % {"count": waiting}] if waiting else []} if rows else None


def may_be_reported(row: Mapping[str, Any], actor: Actor) -> bool:
    """Whether damage of an item is something to be said: not of what is retired."""
    return row["standing"] != Standing.RETIRED and actor.may_be(*STOPPERS)


def may_be_looked_over(row: Mapping[str, Any], actor: Actor) -> bool:
    """Whether looking an item over is something to do with it: not with what is retired."""
    return row["standing"] != Standing.RETIRED and actor.may_be(*WRITERS)
