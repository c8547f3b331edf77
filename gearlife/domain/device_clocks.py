"""Moments that were read on a device's clock, which may be a day off: no fact is refused or made younger by it.

A device that says what its own clock shows while it sends has told how far that clock is off. A clock ahead is put
right, so that no look counts for later than it was. A clock behind is believed: its records count as older than they
are, which hides nothing; and what is sent again hours later with its first head only seems to come from such a clock.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from gearlife.domain.access import Stamp

# As far off as a clock that nobody has to speak of.
LEEWAY = timedelta(minutes=10)
# What the column holds, 68 years: beside it stands what the clock said.
MOST_SECONDS = 2**31 - 1
EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
_OLDEST = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True)
class Moment:
    """When something was, as it counts; `device_at` is what the device's clock said, where that is known to be off.

    `ahead` is by how much that clock is ahead of ours; negative: behind.
    """

    at: datetime
    device_at: datetime | None = None
    ahead: timedelta = timedelta(0)

    @property
    def ahead_seconds(self) -> int | None:
        """Whole seconds that the device's clock was ahead, at most 68 years; None where nothing is known against it."""
        if self.device_at is None:
            return None
        return max(-MOST_SECONDS, min(round(self.ahead.total_seconds()), MOST_SECONDS))


def reckoned(given: datetime | None, stamp: Stamp) -> Moment:
    """The moment that a device gave, as it counts; now where it gave none."""
    ahead = stamp.device_ahead
    if given is None:
        return Moment(stamp.at)
    if abs(ahead) <= LEEWAY:
        return Moment(given)
    return Moment(given - min(max(ahead, timedelta(0)), given - _OLDEST), given, ahead)


def may_have_been(moment: Moment, stamp: Stamp) -> bool:
    """Whether it lies neither in the future nor before all records."""
    return EARLIEST <= moment.at <= stamp.at + LEEWAY


def else_now(moment: Moment, stamp: Stamp) -> Moment:
    """A moment that cannot have been counts as now, what the clock said beside it: for what must not be lost."""
    if may_have_been(moment, stamp):
        return moment
    said = moment.device_at or moment.at
    return Moment(stamp.at, said, said - stamp.at)


def words(device_at: datetime, ahead_seconds: int) -> str:
    """What is said of a clock that was off."""
    minutes = round(abs(ahead_seconds) / 60)
    how_far = f"{minutes} minutes" if minutes < 120 else f"about {round(minutes / 60)} hours"  # noqa: PLR2004 - two hours
    side = "ahead" if ahead_seconds > 0 else "behind"
    return f"the device's clock said {device_at:%Y-%m-%d %H:%M} UTC and was {how_far} {side}"
