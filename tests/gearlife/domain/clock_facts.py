"""Seasons, facts and rules for the tests of the clocks."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from gearlife.domain.clocks import Clock, Facts, Rule, clocks_of
from gearlife.domain.ids import uuid7
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Kind, Whereabouts
from tests.factories import rule

S2011 = Season(date(2011, 8, 20), date(2011, 12, 3), 2011)
S2012 = Season(date(2012, 8, 18), date(2012, 12, 1), 2012)
S2026 = Season(date(2026, 8, 15), date(2026, 12, 5), 2026)
S2027 = Season(date(2027, 8, 14), date(2027, 12, 4), 2027)
MODEL = uuid7()


def facts(kind: Kind = Kind.HELMET, **values: Any) -> Facts:
    """A helmet in the room, made on 5 March 2024, unless told otherwise."""
    usual: dict[str, Any] = {
        "model_id": MODEL,
        "whereabouts": Whereabouts.STOCK,
        "taken_in_on": date(2026, 9, 1),
        "anchors": {Anchor.MADE: date(2024, 3, 5)},
    }
    return Facts(kind, **usual | values)


def falls(one: Rule, of: Facts | None = None, seasons: Iterable[Season] = ()) -> date | None:
    """When the one rule's clock falls; None when it does not run."""
    found = [clock.falls_on for clock in clocks_of(of or facts(), [one], list(seasons)) if clock.rule_id]
    return found[0] if found else None


def by_code(clocks: Iterable[Clock]) -> dict[str, Clock]:
    """The clocks by their codes."""
    return {clock.code: clock for clock in clocks}


age_limit = rule(code="age_limit", anchor=Anchor.MADE, amount=192)
recertification_limit = rule(
    code="recertification_limit", anchor=Anchor.MADE, counts=Counts.SEASON_YEARS, amount=10, effect=Effect.WARN
)
weekly_look = rule(code="weekly_look", anchor=Anchor.LOOK, counts=Counts.DAYS, amount=7, in_season_only=True)
