"""Players and assignments as plain rows."""

from typing import Any

from django.db.models import F, QuerySet

from fitting.models.assignments import AssignmentQuerySet
from fitting.models.counted_gear import CountedGearQuerySet
from fitting.models.players import PlayerQuerySet

Row = dict[str, Any]
PLAYER = ("id", "version", "club", "team", "given_name", "family_name", "jersey_number", "birth_year", "position")
REMOVED = "removed_at"
ASSIGNMENT = (
    *("id", "version", "player", "item", "kind", "loan", "recorded_as", "issued_at", "returned_at", "replaces"),
    *(
        "condition_at_issue",
        "condition_at_return",
        "missing_parts",
        "could_not_be_issued",
        "reasons_against",
        "warnings",
    ),
    "recorded_at",
)
COUNTED_GEAR = (
    *("id", "version", "player", "kind", "count", "size", "condition_at_issue", "handed_out_at", "given_back", "lost"),
    "recorded_at",
)
COUNTED_RETURN = ("id", "version", "counted_gear", "count", "lost", "condition", "returned_at", "recorded_at")


def player_columns(players: PlayerQuerySet) -> QuerySet[Any, Row]:
    """The players as plain rows; what was measured of them is not among it."""
    rows: QuerySet[Any, Row] = players.values(*PLAYER, REMOVED)
    return rows


def counted_gear_columns(lines: CountedGearQuerySet) -> QuerySet[Any, Row]:
    """Lines of counted gear as plain rows."""
    rows: QuerySet[Any, Row] = lines.values(*COUNTED_GEAR)
    return rows


def assignment_columns(assignments: AssignmentQuerySet) -> QuerySet[Any, Row]:
    """The assignments as plain rows; players and items by their ids."""
    rows: QuerySet[Any, Row] = assignments.values(*ASSIGNMENT, timezone=F("item__club__timezone"))
    return rows
