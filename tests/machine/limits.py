"""The limits of gear, reckoned a second time: of each day it is asked what applies, instead of storing when it falls.

Months are python-dateutil's `relativedelta`: an arithmetic that is not the program's.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package

ZONE = ZoneInfo("America/Chicago")
ALWAYS = date.min
NO_DATE = "made_on"
# The row has not been written yet.
NOT_YET = UUID(int=0)


def day_of(at: datetime) -> date:
    """The day of a moment in the clubs' time zone."""
    return at.astimezone(ZONE).date()


@dataclass
class Rule:
    """Months from an event: `made`, `certified` or `full_inspection`. No months: as many as the model's maker says."""

    code: str
    since: str
    months: int | None
    effect: str
    kind: str = ""
    model: str = ""
    first: date = date.min
    last: date = date.max
    id: UUID = NOT_YET

    @property
    def weight(self) -> int:
        """Of two rules with one code the one that names more goes before."""
        return 2 if self.model else 1 if self.kind else 0

    def is_about(self, gear: "Gear") -> bool:
        """Whether it names this gear."""
        return self.model in ("", gear.model) and self.kind in ("", gear.kind)

    def falls(self, gear: "Gear") -> date:
        """The day on which the limit is reached; always, where it counts from a day that nobody knows."""
        began = _began(self.since, gear)
        return began if began == ALWAYS else began + relativedelta(months=self.months or gear.interval)


@dataclass
class Held:
    """A hold as it should be; `ended` says on what ground it was."""

    starts_on: date
    opened_at: datetime
    ends_by: str = "officer"
    deferred: bool = False
    named: UUID | None = None
    notice: str = ""
    proposed_by: UUID | None = None
    ended: str = ""
    id: UUID = NOT_YET

    @property
    def told(self) -> tuple[date, bool, str]:
        """What tells it from the others that one act opens."""
        return (self.starts_on, self.deferred, self.ends_by)


@dataclass
class Gear:
    """An item as it should be."""

    id: UUID
    serial: str
    kind: str
    model: str
    interval: int
    club: UUID
    made: date | None
    taken_in: date
    for_one: bool = False
    place: str = "stock"
    retired: bool = False
    certified: date | None = None
    # Reconditioned or recertified, or it would not hold its air: on which day, and when that was told.
    redone: list[tuple[date, datetime]] = field(default_factory=list)
    looked: datetime | None = None
    inspected: datetime | None = None
    back: datetime | None = None
    holds: list[Held] = field(default_factory=list)
    # Day, whether a licensed firm itself shows it, and when it was recorded.
    accepted: list[tuple[date, datetime]] = field(default_factory=list)
    # Day and firm of every certification; days that a file told, though its last certification had lapsed.
    certificates: set[tuple[date, str]] = field(default_factory=set)
    doubted: set[date] = field(default_factory=set)

    def recertified(self, on: date) -> None:
        """Certified anew on a day: only the latest counts, and it has been in a firm's hands."""
        self.certified = max(self.certified or on, on)
        self.was_away(on)

    def was_away(self, on: date) -> None:
        """A firm had it on a day."""
        if on > self.taken_in:
            self.came_back(datetime.combine(on, time.min, ZONE))

    def came_back(self, at: datetime) -> None:
        """It has been out of the club's hands until then."""
        self.back = max(self.back or at, at)

    def open_holds(self) -> list[Held]:
        """Those that nobody has ended."""
        return [hold for hold in self.holds if not hold.ended]

    def held(self, day: date) -> bool:
        """Whether one is in force."""
        return any(hold.starts_on <= day for hold in self.open_holds())


def fallen(gear: Gear, rules: Sequence[Rule], day: date) -> dict[str, str]:
    """The limits that have been reached on a day: code and effect, the stronger where one code has two.

    What counts from a day that nobody knows is one and the same: the date is missing.
    """
    about = [rule for rule in rules if rule.is_about(gear) and rule.first <= day <= rule.last]
    heaviest = {rule.code: max(other.weight for other in about if other.code == rule.code) for rule in about}
    found: dict[str, str] = {}
    for rule in about:
        if rule.weight == heaviest[rule.code] and (falls := rule.falls(gear)) <= day:
            code = NO_DATE if falls == ALWAYS else rule.code
            found[code] = "stop" if "stop" in (rule.effect, found.get(code)) else rule.effect
    if gear.made is None and (gear.kind == "helmet" or _wants_date(gear, rules, day)):
        found[NO_DATE] = "stop"
    return found


def lapsed(gear: Gear, rules: Sequence[Rule], day: date) -> bool:
    """Whether it is not certified on a day, or cannot be shown to be."""
    of_certification = [rule for rule in rules if rule.since == "certified"]
    return bool(fallen(replace(gear, made=gear.made or ALWAYS), of_certification, day))


def fallen_by(gear: Gear, rules: Sequence[Rule], day: date, last: date) -> set[str]:
    """The codes of the limits that are reached on any day of a span: only where something begins need be looked at."""
    begins = {day}
    for rule in rules:
        begins |= {rule.first, rule.falls(gear)}
        begins |= {rule.last + timedelta(days=1)} if rule.last < date.max else set()
    return {code for each in begins if day <= each <= last for code in fallen(gear, rules, each)}


def _wants_date(gear: Gear, rules: Iterable[Rule], day: date) -> bool:
    """Whether gear of another kind is asked for its date: from the first limit that needs it to the end of the last."""
    limits = [rule for rule in rules if rule.is_about(gear) and rule.since == "made" and rule.first <= rule.last]
    return bool(limits) and min(r.first for r in limits) <= day <= max(r.last for r in limits)


def _began(since: str, gear: Gear) -> date:
    match since:
        case "made":
            return gear.made or ALWAYS
        case "certified":
            return gear.certified or gear.made or ALWAYS
    seen = day_of(gear.inspected) if gear.inspected else gear.taken_in
    return max(seen, gear.taken_in)
