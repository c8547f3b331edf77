"""Plans, their lines and what was set aside, as plain rows for the API and the pages."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Count, F, QuerySet

from fitting.domain.vocabulary import LineState
from fitting.models import AllocationPlan, PlanLine
from fitting.models.fits import OfPlayerQuerySet
from fitting.models.plans import AllocationPlanQuerySet, SetAsideQuerySet
from gearlife.domain.access import Actor

Row = dict[str, Any]
PLAN = (
    *("id", "version", "club", "team", "season", "kind", "weights", "state", "asked_on", "asked_at", "made_at"),
    *("applied_at", "planned", "without", "cost", "short", "notes", "failed_because"),
)
LINE = (
    *("id", "version", "plan", "player", "kind", "outcome", "item", "size", "likelihood", "because", "state"),
    "state_because",
)
SET_ASIDE = ("id", "version", "item", "player", "plan", "kind", "made_at", "ended_at", "ended_by")
# Of one plan so many lines stand in its own document; all of them are in their own list.
MOST_LINES = 1000


def plan_columns(plans: AllocationPlanQuerySet) -> QuerySet[Any, Row]:
    """The plans as plain rows, without their lines."""
    rows: QuerySet[Any, Row] = plans.values(*PLAN)
    return rows


def line_columns(lines: OfPlayerQuerySet) -> QuerySet[Any, Row]:
    """The lines as plain rows."""
    rows: QuerySet[Any, Row] = lines.values(*LINE)
    return rows


def set_aside_columns(rows: SetAsideQuerySet) -> QuerySet[Any, Row]:
    """What was set aside, as plain rows."""
    plain: QuerySet[Any, Row] = rows.values(*SET_ASIDE)
    return plain


def lines_of(plan_ids: Sequence[UUID], actor: Actor) -> Mapping[UUID, tuple[list[Row], int]]:
    """The first lines of each plan that the actor may see, in the order of their ids, and how many there are."""
    found = {}
    for plan_id in plan_ids:
        lines = PlanLine.objects.visible_to(actor).filter(plan_id=plan_id)
        rows = list(line_columns(lines.order_by("id"))[: MOST_LINES + 1])
        found[plan_id] = rows[:MOST_LINES], len(rows) if len(rows) <= MOST_LINES else lines.count()
    return found


def seen_by(actor: Actor, row: Row) -> Row:
    """A plan's row with what is short in the clubs alone that the actor sees whole."""
    if actor.sees_every_club:
        return row
    clubs = {str(club_id) for club_id in actor.club_ids}
    short = [each for each in row["short"] if each["club"] in clubs]
    whole = row["club"] is not None and str(row["club"]) in clubs
    return row | {"short": short, "notes": row["notes"] if whole else []}


SHOWN = (
    *("id", "player", "player__club__name", "player__team__name", "player__given_name", "player__family_name"),
    *("player__jersey_number", "kind", "outcome", "item", "item__serial", "item__tag", "item__model__name", "size"),
    *("likelihood", "because", "state", "state_because"),
)


def fitting_list(plan: AllocationPlan, actor: Actor) -> OfPlayerQuerySet:
    """The lines of a plan that the actor may see, as a fitting day goes: club, team, number."""
    lines: OfPlayerQuerySet = PlanLine.objects.visible_to(actor).filter(plan=plan)
    return lines.order_by(
        "player__club__name",
        F("player__team__name").asc(nulls_last=True),
        F("player__jersey_number").asc(nulls_last=True),
        "player__family_name",
        "player__given_name",
        "player_id",
        "kind",
    )


def counts_of(lines: OfPlayerQuerySet) -> Mapping[str, int]:
    """How many lines say what, and what became of those with an item; one query."""
    rows = lines.order_by().values_list("outcome", "state").annotate(count=Count("id"))
    counts: dict[str, int] = {}
    for outcome, state, count in rows:
        counts[outcome] = counts.get(outcome, 0) + count
        if state != LineState.OPEN:
            counts[state] = counts.get(state, 0) + count
    return counts
