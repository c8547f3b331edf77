"""An item's life as one line: from the day it was made to the first limit that ends it, with what is recorded of it.

The line ends with the retirement; else with the first limit of effect `stop`, fallen or not; else, where nothing ends
it, with the latest known limit, and never before today and `MARGIN` days. The frame reaches as far as the line, today
and everything that is recorded; a limit that falls later is named beyond its edge, for a limit sixteen years away
would leave the present no room.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from gearlife.domain.seasons import Season, add_days
from gearlife.domain.vocabulary import Effect

# What is drawn past today where nothing recorded lies ahead.
MARGIN = 90
# A life of a day or two is drawn as if it were this long, or its marks would lie on each other.
SHORTEST = 120


class SpanKind(StrEnum):
    """What lasts: somebody wears it, or something holds it."""

    WORN = "worn"
    HELD = "held"


@dataclass(frozen=True)
class Mark:
    """Something that happened on one day. `label` stands beside the mark, `words` in the table.

    `counted` is the word under which marks of one season are told by their number (`looks`); empty, each is told by
    itself. Of marks too near each other the weightiest is named.
    """

    day: date
    kind: str
    label: str
    words: str
    weight: int = 0
    counted: str = ""


@dataclass(frozen=True)
class Span:
    """Something that lasted from a day to a day; `ends_on` None: it has not ended."""

    kind: SpanKind
    starts_on: date
    ends_on: date | None
    label: str
    words: str

    def last(self, today: date) -> date:
        """The last day of it that is known."""
        return max(self.starts_on, self.ends_on or today)


@dataclass(frozen=True)
class Post:
    """A limit on the day it falls; None: on a day that nobody knows, so that it always has fallen."""

    label: str
    words: str
    falls_on: date | None
    effect: Effect
    source: str = ""
    read: str = ""

    @property
    def ends_it(self) -> bool:
        """Whether the item must not be worn from that day."""
        return self.effect is Effect.STOP


@dataclass(frozen=True)
class Life:
    """What is recorded of one item. `seen_on` is the earliest day on which it is known to have been there."""

    today: date
    seen_on: date
    made_earliest: date | None = None
    made_latest: date | None = None
    retired_on: date | None = None
    seasons: tuple[Season, ...] = ()
    marks: tuple[Mark, ...] = ()
    spans: tuple[Span, ...] = ()
    posts: tuple[Post, ...] = ()

    @property
    def begins_on(self) -> date:
        """The first day that it may have been made, else the earliest evidence of it."""
        evidence = [self.seen_on, *(mark.day for mark in self.marks), *([self.retired_on] if self.retired_on else [])]
        return self.made_earliest or min(evidence)

    @property
    def ended_by(self) -> Post | None:
        """The first limit that ends it; one whose day nobody knows comes before all others."""
        if self.retired_on:
            return None
        ending = [post for post in self.posts if post.ends_it]
        return min(ending, key=lambda post: (post.falls_on or date.min, post.label), default=None)

    @property
    def ends_on(self) -> date:
        """The last day of the line."""
        if self.retired_on:
            return max(self.retired_on, self.begins_on)
        if self.ended_by:
            return max(self.ended_by.falls_on or self.begins_on, self.begins_on)
        known = [post.falls_on for post in self.posts if post.falls_on]
        return max([add_days(self.today, MARGIN), *known])

    @property
    def frame(self) -> tuple[date, date]:
        """The first and the last day that are drawn."""
        days = [self.begins_on, self.ends_on, self.today, *self._days()]
        first = min(days)
        return first, max([*days, add_days(first, SHORTEST)])

    def lived(self) -> list[Season]:
        """The seasons inside the frame."""
        first, last = self.frame
        return sorted(season for season in self.seasons if season.ends_on >= first and season.starts_on <= last)

    def beyond(self) -> list[Post]:
        """The limits that fall after the frame."""
        return [post for post in self.posts if post.falls_on and post.falls_on > self.frame[1]]

    def within(self) -> list[Post]:
        """The limits that the frame shows, those without a known day at its beginning."""
        return [post for post in self.posts if post not in self.beyond()]

    def _days(self) -> Iterator[date]:
        for mark in self.marks:
            yield mark.day
        for span in self.spans:
            yield span.starts_on
            yield span.last(self.today)
