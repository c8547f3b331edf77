"""Clocks: each limit of an item as limit, used, remaining, falls on, and why. Computed, never opened or released.

A policy rule says what to count from which anchor; of rules with one code the most specific in force wins, of different
codes all apply. Time never writes: a clock's fall is a day, and only a recorded fact moves it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.seasons import Season, add_days, add_months, after_season, after_seasons, in_season
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Kind, Whereabouts

RECERTIFICATION_LIMIT = "recertification_limit"
UNKNOWN_DATE = "made_on"
UNSTATED_INTERVAL_MONTHS = 12


@dataclass(frozen=True)
class Rule:
    """A policy rule; `amount` None is the maker's stated interval, twelve months where none is stated."""

    id: UUID
    code: str
    anchor: Anchor
    counts: Counts
    amount: int | None
    effect: Effect
    comparator: Comparator = Comparator.REACHED
    kind: Kind | None = None
    model_id: UUID | None = None
    in_season_only: bool = False
    whereabouts: frozenset[Whereabouts] = frozenset()
    lead_days: int = 0
    in_force_from: date = UNKNOWN_DAY
    in_force_to: date = LAST_DAY

    @property
    def specificity(self) -> int:
        """Two for a model's own rule, one for a kind's, none for all gear."""
        return 2 if self.model_id else 1 if self.kind else 0

    @property
    def asks_for_air(self) -> bool:
        """Whether it is only for liners that hold air; a model's own rule is for that model, whatever is recorded."""
        return self.anchor is Anchor.AIR_CHECK and self.model_id is None

    def concerns(self, kind: Kind, model_id: UUID) -> bool:
        """Whether the rule speaks of gear of this model at all, wherever it is."""
        return self.model_id in (None, model_id) and self.kind in (None, kind)


@dataclass(frozen=True)
class Facts:
    """What is recorded of one item, as far as clocks ask. `anchors` lacks what never happened or is not known.

    `holds_air`: its liner does, by what is recorded of its model.
    """

    kind: Kind
    model_id: UUID
    whereabouts: Whereabouts
    taken_in_on: date
    anchors: Mapping[Anchor, date]
    stated_interval_months: int | None = None
    holds_air: bool = True


@dataclass(frozen=True)
class Clock:
    """A limit of one item. `falls_on` is the first day on which it has been reached; UNKNOWN_DAY has always fallen."""

    code: str
    rule_id: UUID | None
    anchor: Anchor
    anchor_on: date
    counts: Counts
    amount: int
    falls_on: date
    alert_on: date
    until: date
    effect: Effect
    in_season_only: bool


def clocks_of(facts: Facts, rules: Iterable[Rule], seasons: Sequence[Season]) -> list[Clock]:
    """Every clock that runs for an item under these rules; the unknown date of manufacture is one of them."""
    return clocks_under(applying_to(facts.kind, facts.model_id, rules), facts, seasons)


def applying_to(kind: Kind, model_id: UUID, rules: Iterable[Rule]) -> list[Rule]:
    """What applies to gear of one model: of rules with one code, each on the days on which none more specific does."""
    return _most_specific(rule for rule in rules if rule.concerns(kind, model_id))


def clocks_under(applying: Sequence[Rule], facts: Facts, seasons: Sequence[Season]) -> list[Clock]:
    """The same of an item whose model's rules are known, for whoever asks of many items."""
    clocks = [
        clock
        for rule in applying
        if not rule.whereabouts or facts.whereabouts in rule.whereabouts
        if facts.holds_air or not rule.asks_for_air
        if (clock := _clock(rule, facts, seasons))
    ]
    if Anchor.MADE not in facts.anchors:
        clocks += _unknown_date(facts, applying)
    return clocks


def _most_specific(rules: Iterable[Rule]) -> list[Rule]:
    """Of rules with one code, each on the days on which none more specific is in force."""
    by_code = defaultdict(list)
    for rule in rules:
        by_code[rule.code].append(rule)
    return [
        part
        for group in by_code.values()
        for rule in group
        for part in _outside(rule, [other for other in group if other.specificity > rule.specificity])
    ]


def _outside(rule: Rule, others: Iterable[Rule]) -> list[Rule]:
    parts = [rule]
    for other in others:
        parts = [piece for part in parts for piece in _cut(part, other)]
    return parts


def _cut(rule: Rule, other: Rule) -> Iterator[Rule]:
    """What is left of a rule before and after the days of another."""
    if rule.in_force_from < other.in_force_from:
        yield replace(rule, in_force_to=min(rule.in_force_to, add_days(other.in_force_from, -1)))
    if rule.in_force_to > other.in_force_to:
        yield replace(rule, in_force_from=max(rule.in_force_from, add_days(other.in_force_to, 1)))


def _unknown_date(facts: Facts, rules: Iterable[Rule]) -> Iterator[Clock]:
    """A helmet is stopped without its date; other gear while a rule needs the date, and as hard as that rule."""
    limits = [rule for rule in rules if rule.effect is not Effect.WARN and _anchor(rule.anchor, facts) == UNKNOWN_DAY]
    if facts.kind is Kind.HELMET:
        yield _without_date(UNKNOWN_DAY, LAST_DAY, Effect.STOP)
    elif limits:
        begins, ends = min(rule.in_force_from for rule in limits), max(rule.in_force_to for rule in limits)
        stops = any(rule.effect is Effect.STOP for rule in limits)
        yield _without_date(begins, ends, Effect.STOP if stops else Effect.NO_ISSUE)


def _without_date(begins: date, ends: date, effect: Effect) -> Clock:
    return Clock(
        code=UNKNOWN_DATE,
        rule_id=None,
        anchor=Anchor.MADE,
        anchor_on=UNKNOWN_DAY,
        counts=Counts.DAYS,
        amount=0,
        falls_on=begins,
        alert_on=begins,
        until=ends,
        effect=effect,
        in_season_only=False,
    )


def _clock(rule: Rule, facts: Facts, seasons: Sequence[Season]) -> Clock | None:
    amount = rule.amount
    if amount is None:
        amount = facts.stated_interval_months or UNSTATED_INTERVAL_MONTHS
    anchor_on = _anchor(rule.anchor, facts)
    if anchor_on is None:
        return None
    fall = UNKNOWN_DAY if anchor_on == UNKNOWN_DAY else _fall(rule, amount, anchor_on, seasons)
    if fall is None:
        return None
    falls_on = max(fall, rule.in_force_from)
    if falls_on > rule.in_force_to:
        return None
    return Clock(
        code=rule.code,
        rule_id=rule.id,
        anchor=rule.anchor,
        anchor_on=anchor_on,
        counts=rule.counts,
        amount=amount,
        falls_on=falls_on,
        alert_on=_days_before(falls_on, rule.lead_days),
        until=rule.in_force_to,
        effect=rule.effect,
        in_season_only=rule.in_season_only,
    )


def _anchor(anchor: Anchor, facts: Facts) -> date | None:
    """The day that a clock counts from; None when it has not begun."""
    recorded = facts.anchors.get(anchor)
    match anchor:
        case Anchor.MADE:
            return recorded or UNKNOWN_DAY
        case Anchor.CERTIFIED:
            return recorded or facts.anchors.get(Anchor.MADE, UNKNOWN_DAY)
        case Anchor.LOOK | Anchor.FULL_INSPECTION | Anchor.AIR_CHECK:
            # Rounds first fall due some days after the item was taken in, not on the day of the intake.
            return max(recorded or facts.taken_in_on, facts.taken_in_on)
    return recorded


def _fall(rule: Rule, amount: int, anchor_on: date, seasons: Sequence[Season]) -> date | None:
    passed = int(rule.comparator is Comparator.PASSED)
    match rule.counts:
        case Counts.MONTHS:
            return add_days(add_months(anchor_on, amount), passed)
        case Counts.DAYS if rule.in_season_only:
            return in_season(seasons, anchor_on, amount + passed)
        case Counts.DAYS:
            return add_days(anchor_on, amount + passed)
        case Counts.SEASONS:
            return after_seasons(seasons, anchor_on, amount + passed)
        case Counts.SEASON_YEARS:
            return after_season(seasons, anchor_on.year + amount + passed - 1)


def _days_before(day: date, days: int) -> date:
    return UNKNOWN_DAY if (day - UNKNOWN_DAY).days <= days else add_days(day, -days)
