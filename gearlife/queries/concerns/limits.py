"""Concerns about clocks: certification, age, unknown dates, and the rhythms of looking over."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from gearlife.domain.clocks import RECERTIFICATION_LIMIT, UNKNOWN_DATE
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.explaining import ANCHORS, quantity
from gearlife.domain.recorded import ClockRecord, ItemRecord, Recorded
from gearlife.domain.vocabulary import Advice, Anchor, Effect, Severity, Whereabouts
from gearlife.queries.concerns.registry import Concern


@dataclass
class Limit:
    """One clock within reach, with all that is recorded beside it."""

    about: Recorded
    item: ItemRecord
    clock: ClockRecord
    day: date

    @property
    def fallen(self) -> bool:
        """Whether it has been reached."""
        return self.clock.falls_on <= self.day

    @property
    def severity(self) -> Severity:
        """To be planned while ahead, to be acted on once fallen."""
        return Severity.ACT if self.fallen else Severity.PLAN

    @property
    def never_again(self) -> bool:
        """Whether the item has reached its recertification limit; an unknown date reaches nothing."""
        return any(clock.code == RECERTIFICATION_LIMIT and clock.dated for clock in self._running_and_fallen())

    @property
    def certified_until(self) -> date | None:
        """When the item ceases to be certified."""
        clocks = self.about.clocks[self.item.id]
        return next(
            (clock.falls_on for clock in clocks if clock.anchor is Anchor.CERTIFIED and self._runs(clock)), None
        )

    @property
    def rule_words(self) -> str:
        """The rule, its source and its mark."""
        rule = self.about.rules.get(self.clock.rule_id) if self.clock.rule_id else None
        if rule is None or not rule.source:
            return ""
        limit = f"{quantity(self.clock.amount, self.clock.counts)} from {ANCHORS[self.clock.anchor]}"
        return f" Rule {self.clock.code}: {limit} ({rule.source}, mark {rule.mark})."

    def hit(self, kind: str, advice: Advice, severity: Severity, words: str, effect: Effect | None = None) -> Hit:
        """What a concern says of it; the clock's own effect, unless another is named."""
        return Hit(
            kind=kind,
            effect=effect or self.clock.effect,
            advice=advice,
            severity=severity,
            club_id=self.item.club_id,
            item_id=self.item.id,
            falls_on=self.clock.falls_on,
            because=words + self.rule_words,
        )

    def _running_and_fallen(self) -> Iterator[ClockRecord]:
        for clock in self.about.clocks[self.item.id]:
            if self.about.reaches(self.item, clock, self.day, Reach.NOW):
                yield clock

    def _runs(self, clock: ClockRecord) -> bool:
        resting = clock.in_season_only and not self.about.season_runs(self.item.club_id, self.day)
        return clock.until >= self.day and not resting


class ClockConcern(Concern):
    """A concern about the clocks of one sort that have fallen, or will."""

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per clock of this sort within reach that has something to say."""
        for item, clock in about.clocks_within(day, reach):
            if self.is_about(clock) and (hit := self.said(Limit(about, item, clock, day))):
                yield hit

    def is_about(self, clock: ClockRecord) -> bool:
        """Whether the clock is of this sort."""
        raise NotImplementedError

    def said(self, limit: Limit) -> Hit | None:
        """What there is to say of it."""
        raise NotImplementedError


class CertificationConcern(ClockConcern):
    """Certification lapsing or lapsed: recondition, or retire where reconditioners refuse it by its age."""

    kind = "certification"

    def is_about(self, clock: ClockRecord) -> bool:
        """Dated clocks from the certification."""
        return clock.anchor is Anchor.CERTIFIED and clock.dated

    def said(self, limit: Limit) -> Hit:
        """When it lapses, and whether it can be certified again."""
        verb = "lapsed" if limit.fallen else "lapses"
        words = f"The certification {verb} on {limit.clock.falls_on}; a lapsed helmet is not certified."
        never_again = limit.never_again
        if never_again:
            words += " It cannot be recertified again."
        return limit.hit(self.kind, Advice.RETIRE if never_again else Advice.RECONDITION, limit.severity, words)


class RecertificationLimitConcern(ClockConcern):
    """Ahead: recondition now or never again. Fallen: certified until X and not again. It bars no issue."""

    kind = RECERTIFICATION_LIMIT

    def is_about(self, clock: ClockRecord) -> bool:
        """The dated limit."""
        return clock.code == RECERTIFICATION_LIMIT and clock.dated

    def said(self, limit: Limit) -> Hit | None:
        """Something while the certification still runs; once that has ended, its own concern says to retire."""
        ends = limit.certified_until
        if limit.fallen and ends and ends <= limit.day:
            return None
        words = f"Recondition now or never again: from {limit.clock.falls_on} reconditioners refuse it by its age."
        if limit.fallen:
            until = f", certified until {ends - timedelta(days=1)}" if ends else ""
            words = f"It cannot be recertified again{until}."
        advice = Advice.REPLACE if limit.fallen else Advice.RECONDITION
        return limit.hit(self.kind, advice, Severity.PLAN, words, Effect.WARN)


class AgeLimitConcern(ClockConcern):
    """An age limit for use, where a law, a league or the club set one."""

    kind = "age_limit"

    def is_about(self, clock: ClockRecord) -> bool:
        """Dated clocks from manufacture, but for the recertification limit."""
        return clock.anchor is Anchor.MADE and clock.code not in {RECERTIFICATION_LIMIT, UNKNOWN_DATE} and clock.dated

    def said(self, limit: Limit) -> Hit:
        """When its use ends."""
        verb = "reached" if limit.fallen else "reaches"
        words = f"It {verb} its age limit for use on {limit.clock.falls_on}."
        return limit.hit(self.kind, Advice.RETIRE, limit.severity, words)


class UnknownDateConcern(ClockConcern):
    """No date of manufacture: it cannot be shown to be under any limit; only evidence of the date resolves it."""

    kind = "made_on_unknown"

    def is_about(self, clock: ClockRecord) -> bool:
        """The clock of the unknown."""
        return clock.code == UNKNOWN_DATE

    def said(self, limit: Limit) -> Hit:
        """What would resolve it."""
        words = "The date of manufacture is not known: it cannot be shown to be under any limit. Record evidence of it."
        return limit.hit(self.kind, Advice.CHECK_RECORDS, Severity.ACT, words)


@dataclass
class RoundConcern(ClockConcern):
    """A rhythm of looking over that is overdue or soon due."""

    kind: str
    anchor: Anchor
    advice: Advice
    noun: str

    def is_about(self, clock: ClockRecord) -> bool:
        """Clocks from this rhythm's anchor."""
        return clock.anchor is self.anchor

    def said(self, limit: Limit) -> Hit:
        """Since when, or from when, it is due."""
        verb = "has been due since" if limit.fallen else "falls due on"
        return limit.hit(self.kind, self.advice, limit.severity, f"{self.noun} {verb} {limit.clock.falls_on}.")


class LimitInSeasonConcern(Concern):
    """A limit that falls between now and the season's last game: deal with it before, not in the middle."""

    kind = "limit_in_season"
    places = (Whereabouts.STOCK, Whereabouts.PLAYER)

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """Announced as soon as it can be known; at the gate the limits speak for themselves."""
        for item, clock in about.clocks_within(day, Reach.SEASON) if reach is Reach.LEAD else ():
            if clock.effect is Effect.STOP and clock.falls_on > day and item.whereabouts in self.places:
                advice = Advice.RETIRE if clock.anchor is Anchor.MADE else Advice.RECONDITION
                words = f"Falls on {clock.falls_on}, before the season's last game."
                yield Limit(about, item, clock, day).hit(self.kind, advice, Severity.PLAN, words, Effect.WARN)


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
