"""The small life strip that stands beside an item in a list.

Always on the same scale, sixteen years back and two ahead with today at the same place on every line, so that old gear
is seen without reading.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from gearlife.domain.life import MARGIN
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.recorded import ItemRecord, Recorded
from gearlife.domain.seasons import Season, add_days
from gearlife.domain.vocabulary import Effect

YEARS_BACK, YEARS_AHEAD, YEAR = 16, 2, 10.0
WIDTH = (YEARS_BACK + YEARS_AHEAD) * YEAR
TODAY = YEARS_BACK * YEAR
DAYS_A_YEAR = 365.2425


@dataclass(frozen=True)
class Mini:
    """One small strip. `made_on` None: not known, and the line's beginning, at the earliest evidence, is open.

    `ends_on` is the day of the retirement or of the first limit that ends the item, None where no known day does;
    `undated` says that one without a known day does. `line` and `past` are (left, right) on a width of `WIDTH`:
    what is lived until the end, and what was lived past it (None: nothing). `post` is where the end stands, None where
    there is none or it is beyond the edge; `runs_in` says that it was made before the left edge.
    """

    item_id: UUID
    made_on: date | None
    begins_on: date
    ends_on: date | None
    ends_by: str
    retired: bool
    undated: bool
    line: tuple[float, float]
    past: tuple[float, float] | None
    seasons: tuple[tuple[float, float], ...]
    post: float | None
    runs_in: bool

    @property
    def runs_off(self) -> bool:
        """Whether the line goes on past the right edge."""
        return self.line[1] >= WIDTH


def place(day: date, today: date) -> float:
    """The place of a day; outside of the strip for one too far away."""
    return round(TODAY + (day - today).days / DAYS_A_YEAR * YEAR, 1)


def mini_strips(about: Recorded, day: date) -> dict[UUID, Mini]:
    """A small strip of every item that was read, without a query."""
    return {item.id: _mini(about, item, day) for item in about.items.values()}


def _mini(about: Recorded, item: ItemRecord, day: date) -> Mini:
    begins_on = item.made_earliest or min(day_ for day_ in (item.taken_in_on, item.certified_on) if day_)
    ends_on, ends_by, undated = _end(about, item)
    last = begins_on if undated else ends_on or max([add_days(day, MARGIN), *_falls(about, item)])
    last = max(last, begins_on)
    past = (_inside(last, day), TODAY) if last < day and not item.retired_on else None
    return Mini(
        item_id=item.id,
        made_on=item.made_earliest,
        begins_on=begins_on,
        ends_on=ends_on,
        ends_by=ends_by,
        retired=item.retired_on is not None,
        undated=undated,
        line=(_inside(begins_on, day), _inside(last, day)),
        past=past,
        seasons=tuple(_seasons(about.seasons.get(item.club_id, ()), begins_on, max(last, day), day)),
        post=_post(ends_on, day),
        runs_in=place(begins_on, day) < 0,
    )


def _end(about: Recorded, item: ItemRecord) -> tuple[date | None, str, bool]:
    """The day that ends it, the code of what does, and whether that has no known day."""
    if item.retired_on:
        return item.retired_on, "retired", False
    stops = [clock for clock in about.clocks.get(item.id, ()) if clock.effect is Effect.STOP]
    first = min(stops, key=lambda clock: (clock.falls_on, clock.code), default=None)
    if first is None:
        return None, "", False
    undated = first.falls_on == UNKNOWN_DAY
    return (None if undated else first.falls_on), first.code, undated


def _post(ends_on: date | None, today: date) -> float | None:
    x = None if ends_on is None else place(ends_on, today)
    return None if x is None or not 0 <= x <= WIDTH else x


def _falls(about: Recorded, item: ItemRecord) -> list[date]:
    return [clock.falls_on for clock in about.clocks.get(item.id, ()) if clock.falls_on != UNKNOWN_DAY]


def _inside(day: date, today: date) -> float:
    return min(max(place(day, today), 0.0), WIDTH)


def _seasons(seasons: Iterable[Season], first: date, last: date, today: date) -> Iterable[tuple[float, float]]:
    """Those that it has lived in, as stretches inside the strip."""
    for season in seasons:
        left, right = _inside(max(season.starts_on, first), today), _inside(min(season.ends_on, last), today)
        if left < right:
            yield left, right
