"""How long what is known of persons is kept: rules as data, and the day on which something of a person is due to go.

The defaults follow a published practice for the data of minors: measurements a year after the last season played, an
identity three years after the last use and until the year in which the player turns 21, for in many places the time
in which somebody may sue begins to run at full age; logs of access two years.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from gearlife.domain.seasons import Season, add_months
from gearlife.domain.vocabulary import Mark


class Kept(StrEnum):
    """What is kept for a time."""

    MEASUREMENTS = "measurements"
    FIT_DETAILS = "fit_details"  # hair, pads and air of fittings; reported changes of the body
    ACCESS_LOG = "access_log"  # who was shown measurements
    IDENTITY = "identity"


class After(StrEnum):
    """What the time runs from."""

    LAST_SEASON = "last_season"
    LAST_USE = "last_use"
    RECORDED = "recorded"


AFTER = {
    Kept.MEASUREMENTS: After.LAST_SEASON,
    Kept.FIT_DETAILS: After.LAST_SEASON,
    Kept.ACCESS_LOG: After.RECORDED,
    Kept.IDENTITY: After.LAST_USE,
}
FEWEST_MONTHS, MOST_MONTHS = 1, 240
OLDEST = 30  # what `until_age` may be at most


@dataclass(frozen=True)
class Period:
    """So many months after its event; `until_age`: not before the year in which the player is so old."""

    of: Kept
    months: int
    until_age: int | None = None
    source: str = ""
    mark: Mark = Mark.PRACTICE

    @property
    def after(self) -> After:
        """The event."""
        return AFTER[self.of]


DEFAULTS = (
    Period(Kept.MEASUREMENTS, 12, source="16 CFR 312.10: no longer than reasonably necessary; the time is ours."),
    Period(Kept.FIT_DETAILS, 12, source="As measurements: they are facts of the body."),
    Period(Kept.ACCESS_LOG, 24, source="Common practice, no source; after 34 CFR 99.32, a record of each disclosure."),
    Period(
        Kept.IDENTITY,
        36,
        21,
        source="Time in which a minor may sue after full age; it differs by place: ask.",
        mark=Mark.FROM_MEMORY,
    ),
)


@dataclass(frozen=True)
class Person:
    """As much of a player as retention asks: the last day of any use, the seasons of the club."""

    last_use: date
    birth_year: int | None
    seasons: Iterable[Season] = ()

    @property
    def last_season(self) -> date:
        """The last game of the season that ran on the last day of use; that day where none ran."""
        ran = [season.ends_on for season in self.seasons if season.starts_on <= self.last_use <= season.ends_on]
        return max(ran, default=self.last_use)


def due_on(period: Period, person: Person) -> date:
    """The first day on which it goes."""
    event = person.last_season if period.after is After.LAST_SEASON else person.last_use
    day = add_months(event, period.months)
    if period.until_age is None or person.birth_year is None:
        return day
    return max(day, date(person.birth_year + period.until_age, 1, 1))


def oldest_kept(period: Period, day: date) -> date:
    """Of what is kept by its own day: what is older goes."""
    return add_months(day, -period.months)
