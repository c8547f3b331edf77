"""What fitting adds to the day's page and a game morning's sheet: who lacks gear that protects, what is still out."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any

from fitting.models import Player
from fitting.queries.gear_out import out_after_the_season
from fitting.queries.protection import lacks_of, teams_lacking
from fitting.queries.roster import PLAYER, by_team_and_number
from gearlife.domain.access import Actor
from gearlife.models import Team

# The day's page names so many teams; the page of what is out has them all. More players of one sort are one line.
MOST_TEAMS, MOST_ALONE = 12, 4


def lacks_today(actor: Actor, day: date) -> Mapping[str, Any] | None:
    """A line for each team in which somebody lacks something; None where nobody does."""
    return _lines(teams_lacking(Player.objects.visible_to(actor), day))


def out_today(actor: Actor, day: date) -> Mapping[str, Any] | None:
    """A line for each team that has something out though its season is over."""
    return _lines(out_after_the_season(Player.objects.visible_to(actor), day))


def lacks_on_the_sheet(actor: Actor, team: Team, day: date) -> Mapping[str, Any] | None:
    """The players of a team who lack something, many who lack the same in one line; None where nobody does."""
    players = Player.objects.visible_to(actor).filter(team=team)
    lacks = lacks_of(players, day)
    if not lacks:
        return None
    named = by_team_and_number(players.filter(id__in=list(lacks))).values(*PLAYER)
    alike: dict[tuple[str, ...], list[dict[str, Any]]] = defaultdict(list)
    for row in named:
        pieces = tuple(lacks[row["id"]])
        alike[pieces].append({**row, "lacks": pieces})
    many = [(pieces, rows) for pieces, rows in alike.items() if len(rows) > MOST_ALONE]
    few = [row for rows in alike.values() if len(rows) <= MOST_ALONE for row in rows]
    return {"many": many, "rows": few}


def _lines(lines: list[Any]) -> Mapping[str, Any] | None:
    return {"lines": lines[:MOST_TEAMS], "more": len(lines[MOST_TEAMS:])} if lines else None
