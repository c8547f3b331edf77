"""What is recorded of items, read once: every concern, the gate and the limits in words are asked of this.

Pure values: whoever has the rows can ask, and an answer for fifty items is as right as the one for one.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from operator import attrgetter
from uuid import UUID

from gearlife.domain.clocks import Clock, Facts, Rule, applying_to, clocks_under
from gearlife.domain.concerns import Reach
from gearlife.domain.days import local_day
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Kind, Liner, Standing, Whereabouts

# A clock as its row has it, but for whose it is.
CLOCK_COLUMNS = (
    *("rule_id", "code", "anchor", "anchor_on", "counts", "amount", "falls_on", "alert_on", "until", "effect"),
    "in_season_only",
)
CLOCK = attrgetter(*CLOCK_COLUMNS)
WITH_AIR = frozenset({Liner.AIR, Liner.MIXED})


@dataclass(slots=True)
class ItemRecord:
    """One item: where it is, whether it is retired, and the anchors that its clocks count from."""

    id: UUID
    organisation_id: UUID
    club_id: UUID
    timezone: str
    kind: Kind
    model_id: UUID
    stated_interval_months: int | None
    interval_stated_in: str
    liner: Liner
    whereabouts: Whereabouts
    retired_on: date | None
    retired_reason: str
    taken_in_on: date
    made_earliest: date | None
    certified_on: date | None
    last_look_at: datetime | None
    last_full_inspection_at: datetime | None
    last_air_check_at: datetime | None
    last_refit_at: datetime | None
    came_back_at: datetime | None
    clocks_revision: int
    policy_revision: int

    @property
    def stale(self) -> bool:
        """Whether its stored clocks were reckoned before the policy last changed."""
        return self.clocks_revision < self.policy_revision

    def happened(self) -> dict[Anchor, date | datetime | None]:
        """The latest recorded event of each anchor."""
        return {
            Anchor.MADE: self.made_earliest,
            Anchor.CERTIFIED: self.certified_on,
            Anchor.LOOK: self.last_look_at,
            Anchor.FULL_INSPECTION: self.last_full_inspection_at,
            Anchor.AIR_CHECK: self.last_air_check_at,
            Anchor.REFIT: self.last_refit_at,
            Anchor.CAME_BACK: self.came_back_at,
        }

    def facts(self) -> Facts:
        """What the clocks' arithmetic asks; moments become days of the club's calendar."""
        return Facts(
            kind=self.kind,
            model_id=self.model_id,
            whereabouts=self.whereabouts,
            taken_in_on=self.taken_in_on,
            anchors={anchor: self._day(at) for anchor, at in self.happened().items() if at},
            stated_interval_months=self.stated_interval_months,
            holds_air=self.liner in WITH_AIR,
        )

    def _day(self, at: date | datetime) -> date:
        return local_day(at, self.timezone) if isinstance(at, datetime) else at


@dataclass(slots=True)
class HoldRecord:
    """One hold that has not been ended."""

    item_id: UUID
    starts_on: date
    deferred: bool
    advice: str
    reason: str
    reference: str


@dataclass(slots=True)
class ClockRecord:
    """One limit of one item, as it is stored."""

    item_id: UUID
    rule_id: UUID | None
    code: str
    anchor: Anchor
    anchor_on: date
    counts: Counts
    amount: int
    falls_on: date
    alert_on: date
    until: date
    effect: Effect
    in_season_only: bool

    @property
    def dated(self) -> bool:
        """Whether it counts from a day that is known."""
        return self.anchor_on > UNKNOWN_DAY


@dataclass(slots=True)
class RuleRecord:
    """A policy rule, whose it is, and where it comes from."""

    organisation_id: UUID
    rule: Rule
    source: str
    mark: str


@dataclass
class Recorded:
    """Items with their open holds and their clocks whose rules have not ended, their clubs' seasons, and the rules.

    Holds come by first day, clocks by the day on which they fall, seasons by the day of the last game. `asked_at` is
    the moment of asking, where alerts are brought into line: what turns at an hour of the day needs more than the day.
    """

    items: Mapping[UUID, ItemRecord]
    holds: Mapping[UUID, list[HoldRecord]]
    clocks: dict[UUID, list[ClockRecord]]
    seasons: Mapping[UUID, list[Season]]
    rules: Mapping[UUID, RuleRecord]
    asked_at: datetime | None = None
    _applying: dict[Hashable, list[Rule]] = field(default_factory=dict, repr=False)
    _reckoned: dict[Hashable, list[Clock]] = field(default_factory=dict, repr=False)
    _within: dict[tuple[date, Reach], list[tuple[ItemRecord, ClockRecord]]] = field(default_factory=dict, repr=False)

    def season_ends_on(self, club_id: UUID, day: date) -> date | None:
        """The last game of the season that runs on `day`, else of the next; None when none is entered."""
        return next((season.ends_on for season in self.seasons.get(club_id, ()) if season.ends_on >= day), None)

    def season_runs(self, club_id: UUID, day: date) -> bool:
        """Whether a season of the club runs on `day`."""
        return any(season.starts_on <= day <= season.ends_on for season in self.seasons.get(club_id, ()))

    def reckoned(self, item: ItemRecord) -> list[ClockRecord]:
        """The clocks that the item should have, earliest fall first; a retired one has none: it never goes out again.

        What many items share is reckoned once.
        """
        if item.retired_on:
            return []
        facts = item.facts()
        key = (item.club_id, facts.model_id, facts.whereabouts, facts.taken_in_on, *facts.anchors.items())
        if key not in self._reckoned:
            clocks = clocks_under(self._applying_to(item), facts, self.seasons.get(item.club_id, ()))
            self._reckoned[key] = sorted(clocks, key=attrgetter("falls_on", "code"))
        return [ClockRecord(item.id, *CLOCK(clock)) for clock in self._reckoned[key]]

    def _applying_to(self, item: ItemRecord) -> list[Rule]:
        key = (item.organisation_id, item.kind, item.model_id)
        if key not in self._applying:
            rules = (each.rule for each in self.rules.values() if each.organisation_id == item.organisation_id)
            self._applying[key] = applying_to(item.kind, item.model_id, rules)
        return self._applying[key]

    def clocks_within(self, day: date, reach: Reach) -> list[tuple[ItemRecord, ClockRecord]]:
        """Every clock that has fallen, or falls as near as the question reaches; many ask the same."""
        if (day, reach) not in self._within:
            clocks = ((self.items[item_id], clock) for item_id, of_item in self.clocks.items() for clock in of_item)
            self._within[day, reach] = [
                (item, clock) for item, clock in clocks if self.reaches(item, clock, day, reach)
            ]
        return self._within[day, reach]

    def reaches(self, item: ItemRecord, clock: ClockRecord, day: date, reach: Reach) -> bool:
        """Whether the question reaches the clock; out of season, one that runs in season only has not fallen."""
        if clock.until < day:
            return False
        if reach is Reach.SEASON:
            return clock.falls_on <= day or clock.falls_on <= (self.season_ends_on(item.club_id, day) or day)
        reached = clock.falls_on if reach is Reach.NOW else clock.alert_on
        return reached <= day and (not clock.in_season_only or self.season_runs(item.club_id, day))

    def stops(self, item: ItemRecord, day: date) -> list[ClockRecord]:
        """The clocks of effect `stop` that have fallen."""
        clocks = self.clocks.get(item.id, ())
        return [c for c in clocks if c.effect is Effect.STOP and self.reaches(item, c, day, Reach.NOW)]

    def held(self, item: ItemRecord, day: date) -> list[HoldRecord]:
        """The holds in force."""
        return [hold for hold in self.holds.get(item.id, ()) if hold.starts_on <= day]

    def standing(self, item: ItemRecord, day: date) -> Standing:
        """Retired wins, else stopped by a hold in force or a fallen stop clock, else no recorded reason to stop."""
        if item.retired_on:
            return Standing.RETIRED
        return Standing.STOPPED if self.held(item, day) or self.stops(item, day) else Standing.NO_STOP

    def of(self, item_ids: Iterable[UUID]) -> "Recorded":
        """The same, of some of the items."""
        wanted = set(item_ids)
        return Recorded(
            items={id_: item for id_, item in self.items.items() if id_ in wanted},
            holds={id_: holds for id_, holds in self.holds.items() if id_ in wanted},
            clocks={id_: clocks for id_, clocks in self.clocks.items() if id_ in wanted},
            seasons=self.seasons,
            rules=self.rules,
            asked_at=self.asked_at,
        )
