"""Concerns about clocks: certification, age, unknown dates, and the rhythms of looking over."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, Subquery

from gearlife.domain.clocks import RECERTIFICATION_LIMIT, UNKNOWN_DATE
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.explaining import ANCHORS, quantity
from gearlife.domain.vocabulary import Advice, Anchor, Counts, Effect, Severity, Whereabouts
from gearlife.models import Clock, ItemQuerySet
from gearlife.queries.concerns.registry import Concern

OF_CLOCK = ("item_id", "item__club_id", "code", "anchor", "falls_on", "effect", "amount", "counts")
COLUMNS = (*OF_CLOCK, "rule__source", "rule__mark")


def never_again(day: date) -> Exists:
    """Whether the outer clock's item has reached its recertification limit; an unknown date reaches nothing."""
    limit = Clock.objects.fallen(day).dated().filter(item=OuterRef("item"), code=RECERTIFICATION_LIMIT)
    return Exists(limit)


def certified_until(day: date) -> Subquery:
    """When the outer clock's item ceases to be certified."""
    running = Clock.objects.running(day).filter(item=OuterRef("item"), anchor=Anchor.CERTIFIED.value)
    return Subquery(running.order_by("falls_on", "id").values("falls_on")[:1])


def rule_words(clock: dict[str, Any]) -> str:
    """The rule of a clock, its source and its mark."""
    if not clock["rule__source"]:
        return ""
    limit = f"{quantity(clock['amount'], Counts(clock['counts']))} from {ANCHORS[Anchor(clock['anchor'])]}"
    return f" Rule {clock['code']}: {limit} ({clock['rule__source']}, mark {clock['rule__mark']})."


def hit_of(clock: dict[str, Any], *, kind: str, advice: Advice, severity: Severity, words: str) -> Hit:
    """The hit of one clock's row."""
    return Hit(
        kind=kind,
        effect=Effect(clock["effect"]),
        advice=advice,
        severity=severity,
        club_id=clock["item__club_id"],
        item_id=clock["item_id"],
        falls_on=clock["falls_on"],
        because=words + rule_words(clock),
    )


def severity_of(falls_on: date, day: date) -> Severity:
    """To be planned while ahead, to be acted on once fallen."""
    return Severity.ACT if falls_on <= day else Severity.PLAN


class ClockConcern(Concern):
    """A concern whose question is which clocks of one sort have fallen, or will."""

    which: Q

    def clocks(self, items: ItemQuerySet, day: date, reach: Reach) -> Any:  # noqa: ANN401 - a ClockQuerySet
        """The clocks of this sort, within reach."""
        clocks = Clock.objects.filter(self.which, item__in=items.order_by())
        match reach:
            case Reach.NOW:
                return clocks.fallen(day)
            case Reach.SEASON:
                return clocks.falling_this_season(day)
        return clocks.announced(day)


class CertificationConcern(ClockConcern):
    """Certification lapsing or lapsed: recondition, or retire where reconditioners refuse it by its age."""

    kind = "certification"
    which = Q(anchor=Anchor.CERTIFIED.value)

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item with a dated certification clock."""
        clocks = self.clocks(items, day, reach).dated().annotate(never_again=never_again(day))
        for clock in clocks.values(*COLUMNS, "never_again"):
            verb = "lapsed" if clock["falls_on"] <= day else "lapses"
            words = f"The certification {verb} on {clock['falls_on']}; a lapsed helmet is not certified."
            if clock["never_again"]:
                words += " It cannot be recertified again."
            advice = Advice.RETIRE if clock["never_again"] else Advice.RECONDITION
            severity = severity_of(clock["falls_on"], day)
            yield hit_of(clock, kind=self.kind, advice=advice, severity=severity, words=words)


class RecertificationLimitConcern(ClockConcern):
    """Ahead: recondition now or never again. Fallen: certified until X and not again. It bars no issue."""

    kind = RECERTIFICATION_LIMIT
    which = Q(code=RECERTIFICATION_LIMIT)

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item whose certification still runs; once that has ended, its own concern says to retire."""
        clocks = self.clocks(items, day, reach).dated().annotate(certified_until=certified_until(day))
        for clock in clocks.values(*COLUMNS, "certified_until"):
            ends = clock["certified_until"]
            fallen = clock["falls_on"] <= day
            if fallen and ends and ends <= day:
                continue
            words = f"Recondition now or never again: from {clock['falls_on']} reconditioners refuse it by its age."
            if fallen:
                until = f", certified until {ends - timedelta(days=1)}" if ends else ""
                words = f"It cannot be recertified again{until}."
            advice = Advice.REPLACE if fallen else Advice.RECONDITION
            row = clock | {"effect": Effect.WARN}
            yield hit_of(row, kind=self.kind, advice=advice, severity=Severity.PLAN, words=words)


class AgeLimitConcern(ClockConcern):
    """An age limit for use, where a law, a league or the club set one."""

    kind = "age_limit"
    which = Q(anchor=Anchor.MADE.value) & ~Q(code__in=[RECERTIFICATION_LIMIT, UNKNOWN_DATE])

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item with a dated age limit."""
        for clock in self.clocks(items, day, reach).dated().values(*COLUMNS):
            verb = "reached" if clock["falls_on"] <= day else "reaches"
            words = f"It {verb} its age limit for use on {clock['falls_on']}."
            severity = severity_of(clock["falls_on"], day)
            yield hit_of(clock, kind=self.kind, advice=Advice.RETIRE, severity=severity, words=words)


class UnknownDateConcern(ClockConcern):
    """No date of manufacture: it cannot be shown to be under any limit; only evidence of the date resolves it."""

    kind = "made_on_unknown"
    which = Q(code=UNKNOWN_DATE)

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item without a date."""
        words = "The date of manufacture is not known: it cannot be shown to be under any limit. Record evidence of it."
        for clock in self.clocks(items, day, reach).values(*COLUMNS):
            yield hit_of(clock, kind=self.kind, advice=Advice.CHECK_RECORDS, severity=Severity.ACT, words=words)


@dataclass
class RoundConcern(ClockConcern):
    """A rhythm of looking over that is overdue or soon due."""

    kind: str
    anchor: Anchor
    advice: Advice
    noun: str

    @property
    def which(self) -> Q:  # type: ignore[override] # a rhythm's question follows from its anchor
        """Clocks from this rhythm's anchor."""
        return Q(anchor=self.anchor.value)

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterable[Hit]:
        """One per item whose round has come."""
        for clock in self.clocks(items, day, reach).values(*COLUMNS):
            verb = "has been due since" if clock["falls_on"] <= day else "falls due on"
            words = f"{self.noun} {verb} {clock['falls_on']}."
            severity = severity_of(clock["falls_on"], day)
            yield hit_of(clock, kind=self.kind, advice=self.advice, severity=severity, words=words)


class LimitInSeasonConcern(Concern):
    """A limit that falls between now and the season's last game: deal with it before, not in the middle."""

    kind = "limit_in_season"
    places = (Whereabouts.STOCK.value, Whereabouts.PLAYER.value)

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """Announced as soon as it can be known; at the gate the limits speak for themselves."""
        if reach is not Reach.LEAD:
            return
        clocks = Clock.objects.filter(
            item__in=items.order_by(), effect=Effect.STOP.value, item__whereabouts__in=self.places
        )
        falling = clocks.falling_this_season(day).filter(falls_on__gt=day, falls_on__lte=F("season_end"))
        for clock in falling.values(*COLUMNS):
            advice = Advice.RETIRE if clock["anchor"] == Anchor.MADE else Advice.RECONDITION
            words = f"Falls on {clock['falls_on']}, before the season's last game."
            row = clock | {"effect": Effect.WARN}
            yield hit_of(row, kind=self.kind, advice=advice, severity=Severity.PLAN, words=words)


LIMITS = (
    CertificationConcern(),
    RecertificationLimitConcern(),
    AgeLimitConcern(),
    UnknownDateConcern(),
    RoundConcern("look", Anchor.LOOK, Advice.INSPECT, "A look"),
    RoundConcern("full_inspection", Anchor.FULL_INSPECTION, Advice.INSPECT, "A full inspection"),
    RoundConcern("air_check", Anchor.AIR_CHECK, Advice.TOP_UP_AIR, "An air check"),
    RoundConcern("refit", Anchor.REFIT, Advice.REFIT, "A refit"),
    RoundConcern("since_return", Anchor.CAME_BACK, Advice.INSPECT, "What follows a return"),
    LimitInSeasonConcern(),
)
