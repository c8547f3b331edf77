"""What a day asks of whoever looks after the gear: many items of one meaning are one line with its number.

Stops are one line an item, for each has a player; but a cohort that was stopped at once for one reason is one line.
"""

import re
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.vocabulary import Advice, Effect, Kind, Severity

WEEK = timedelta(days=7)
# As a limit's concern quotes its rule.
RULE = re.compile(r" Rule \w+: .*?, mark \w\)\.")
# So many of one cohort still stand by themselves; of more the line is the cohort's.
MOST_ALONE = 5


@dataclass(frozen=True)
class Gear:
    """One item as people know it: its serial or tag, model, size, and whose it is (`club` is the club's code)."""

    id: UUID
    kind: Kind
    serial: str
    tag: str
    model: str
    size: str
    club: str
    team: str = ""


@dataclass(frozen=True)
class Told:
    """Somebody was told that it must not be worn; by whom that was noted."""

    whom: str
    at: datetime | None
    by: str = ""
    note: str = ""


@dataclass(frozen=True)
class Stop:
    """A player has something that must not be worn, or had it last and it is missing.

    `since` is None where a date is not known. `told` is set when somebody was told of all that is
    against it; it stays in sight until it is in hand.
    """

    gear: Gear
    because: tuple[str, ...]
    since: date | None
    kinds: frozenset[str]
    advice: Advice
    missing: bool = False
    player_id: UUID | None = None
    player: str = ""
    number: int | None = None
    told: Told | None = None

    @property
    def unsaid_since(self) -> date | None:
        """The day from which on it must not be worn, where no reason names it."""
        said = self.since is None or any(self.since.isoformat() in because for because in self.because)
        return None if said else self.since

    @property
    def name(self) -> str:
        """The player without the number, which stands beside."""
        return self.player.removeprefix(f"{self.number} ")

    @property
    def meaning(self) -> Hashable:
        """What makes two stops one cohort: the same reasons since the same day, of the same sort of gear."""
        return self.gear.club, self.gear.kind, self.kinds, self.since, self.because


@dataclass(frozen=True)
class Cohort:
    """Stops of one meaning."""

    stops: Sequence[Stop]

    @property
    def first(self) -> Stop:
        """One of them, for what they share."""
        return self.stops[0]


@dataclass(frozen=True)
class Spoken:
    """So many items with the same to be said; `one` names the item when it is the only one."""

    club: str
    gear: Kind | None
    falls_on: date
    count: int
    one: Gear | None


@dataclass(frozen=True)
class PutOff:
    """Until when, why, and who did so."""

    until: date
    reason: str
    by: str


@dataclass(frozen=True)
class Matter(Spoken):
    """Open alerts of one meaning. `because` is in words: all of them when there is one, else empty where they differ.

    `alert_id` names the alert when there is one.
    """

    kind: str
    advice: Advice
    severity: Severity
    because: str
    noticed: int = 0
    put_off: PutOff | None = None
    alert_id: UUID | None = None

    @property
    def since(self) -> date | None:
        """The earliest day; None where it is not known."""
        return None if self.falls_on == UNKNOWN_DAY else self.falls_on

    @property
    def meaning(self) -> Hashable:
        """Matters that have fallen are one, whatever their day: what differs is only how long they have waited."""
        return self.club, self.kind, self.advice, self.severity, self.gear, self.put_off


@dataclass(frozen=True)
class Due(Spoken):
    """Limits of one code that fall on one day, and what they do from then on."""

    code: str
    effect: Effect

    @property
    def limit(self) -> Hashable:
        """What makes two one line, be they of helmets or of pads: one limit of one club on one day."""
        return self.falls_on, self.club, self.code, self.effect


@dataclass(frozen=True)
class Answered:
    """All that a day asks: stops as they were asked of the records, the rest as it was delivered.

    `failed` names the questions that had no answer; of `unread` items the limits are being reckoned anew.
    """

    stops: Sequence[Stop] = ()
    now: Sequence[Matter] = ()
    put_off: Sequence[Matter] = ()
    plan: Sequence[Matter] = ()
    week: Sequence[Due] = ()
    next: Due | None = None
    failed: frozenset[str] = frozenset()
    unread: int = 0

    def __add__(self, other: "Answered") -> "Answered":
        """Both: of clubs whose calendars differ."""
        soonest = [due for due in (self.next, other.next) if due]
        return Answered(
            [*self.stops, *other.stops],
            [*self.now, *other.now],
            [*self.put_off, *other.put_off],
            [*self.plan, *other.plan],
            [*self.week, *other.week],
            min(soonest, key=lambda due: due.falls_on, default=None),
            self.failed | other.failed,
            self.unread + other.unread,
        )

    @property
    def untold(self) -> list[Stop]:
        """Those of which nobody was told yet."""
        return [stop for stop in self.stops if stop.told is None]

    @property
    def told(self) -> list[Stop]:
        """Those of which somebody was told."""
        return [stop for stop in self.stops if stop.told]

    @property
    def is_quiet(self) -> bool:
        """Whether nothing needs a hand today, and every question was answered."""
        return not (self.stops or self.now or self.failed or self.unread)

    def clubs(self) -> set[str]:
        """The clubs of which there is anything to say."""
        return {stop.gear.club for stop in self.stops} | {
            spoken.club for spoken in (*self.now, *self.put_off, *self.plan, *self.week)
        }


def without_rules(because: str) -> str:
    """A reason in its own words: the rule that it quotes stands in the item's limits, with its source."""
    return RULE.sub("", because)


def rules_of(because: str) -> str:
    """The rules that a reason quotes, with source and mark; empty for none."""
    return " ".join(found.strip() for found in RULE.findall(because))


def cohorts(stops: Iterable[Stop], *, most_alone: int = MOST_ALONE) -> list[Cohort]:
    """Stops as lines, those that have waited longest first; a line of more than one is a cohort."""
    by_meaning: dict[Hashable, list[Stop]] = defaultdict(list)
    for stop in sorted(stops, key=_urgency):
        by_meaning[stop.meaning].append(stop)
    lines: list[Cohort] = []
    for same in by_meaning.values():
        lines += [Cohort(same)] if len(same) > most_alone else [Cohort([stop]) for stop in same]
    return lines


def joined(matters: Iterable[Matter]) -> list[Matter]:
    """Matters of one meaning as one; those with the most items first."""
    by_meaning: dict[Hashable, Matter] = {}
    for matter in matters:
        known = by_meaning.get(matter.meaning)
        by_meaning[matter.meaning] = _both(known, matter) if known else matter
    return sorted(by_meaning.values(), key=lambda each: (each.falls_on, -each.count, each.kind, each.club))


def _both(first: Matter, other: Matter) -> Matter:
    return replace(
        first,
        falls_on=min(first.falls_on, other.falls_on),
        count=first.count + other.count,
        because=first.because if first.because == other.because else "",
        noticed=first.noticed + other.noticed,
        one=None,
        alert_id=None,
    )


def _urgency(stop: Stop) -> tuple[date, str, int, str]:
    number = stop.number if stop.number is not None else -1
    return stop.since or UNKNOWN_DAY, stop.gear.club, number, stop.gear.serial or stop.gear.tag
