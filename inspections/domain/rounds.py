"""A round of the check: how far back a look counts, and how things stand with each worn item.

A round is the last days on the club's calendar, today among them: as many as the rule of the look asks for, of each
item by its own rule. In the season an item is open again on the very day on which that rule's clock falls. Where no
rule asks for looks, and out of the season, the same number of days shows how far a check is that nobody asks for.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from uuid import UUID

from gearlife.domain.clocks import Rule, applying_to
from gearlife.domain.days import local_day
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Kind, Whereabouts

# Of gear that no rule asks to be looked over: the weekly check is college practice, as the default rule says.
USUAL_DAYS = 7
NO_MODEL = UUID(int=0)


class Progress(StrEnum):
    """How the check of one item stands in its round."""

    NOT_YET = "not_yet"
    NOT_SEEN = "not_seen"
    LOOKED_OVER = "looked_over"


@dataclass(frozen=True)
class Rhythm:
    """How many days a round has, by kind, and by model where a rule speaks of one; whether a rule asks at all."""

    of_kind: Mapping[Kind, int]
    of_model: Mapping[tuple[Kind, UUID], int]
    asks: bool
    asks_out_of_season: bool

    def begins_on(self, kind: Kind, model_id: UUID, day: date) -> date:
        """The first day of the round that `day` is the last of."""
        return day - timedelta(days=self.of_model.get((kind, model_id), self.of_kind[kind]) - 1)

    def asked(self, *, in_season: bool) -> bool:
        """Whether a rule asks for the check now."""
        return self.asks if in_season else self.asks_out_of_season

    @property
    def shortest(self) -> int:
        """The days of the shortest round, for a sentence about all of them."""
        return min((*self.of_kind.values(), *self.of_model.values()))


def rhythm_of(rules: Iterable[Rule], day: date) -> Rhythm:
    """The rhythm under an organisation's rules as of a day: of several rules for an item the shortest."""
    every = list(rules)
    looks = [rule for rule in every if _asks_for_looks(rule, day)]
    models = {rule.model_id for rule in looks if rule.model_id}
    return Rhythm(
        of_kind={kind: _days(kind, NO_MODEL, every, day) for kind in Kind},
        of_model={(kind, model): _days(kind, model, every, day) for kind in Kind for model in models},
        asks=bool(looks),
        asks_out_of_season=any(not rule.in_season_only for rule in looks),
    )


def progress_of(last_look_at: datetime | None, not_seen_at: datetime | None, begins_on: date, zone: str) -> Progress:
    """How the check stands: a look in the round counts, whatever was noted; a note of an earlier round is over."""
    if last_look_at and local_day(last_look_at, zone) >= begins_on:
        return Progress.LOOKED_OVER
    if not_seen_at and local_day(not_seen_at, zone) >= begins_on:
        return Progress.NOT_SEEN
    return Progress.NOT_YET


def _days(kind: Kind, model_id: UUID, rules: Iterable[Rule], day: date) -> int:
    applying = (rule for rule in applying_to(kind, model_id, rules) if _asks_for_looks(rule, day))
    return min(((rule.amount or 0) + (rule.comparator is Comparator.PASSED) for rule in applying), default=USUAL_DAYS)


def _asks_for_looks(rule: Rule, day: date) -> bool:
    """Whether the rule asks, on this day, for a look at worn gear every so many days."""
    worn = not rule.whereabouts or Whereabouts.PLAYER in rule.whereabouts
    counted = rule.anchor is Anchor.LOOK and rule.counts is Counts.DAYS and bool(rule.amount)
    return worn and counted and rule.in_force_from <= day <= rule.in_force_to
