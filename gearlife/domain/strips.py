"""The life strip: where each day, mark, span and limit of a life stands on one horizontal line, and on which lane."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from gearlife.domain.lanes import Label, beside_all, packed
from gearlife.domain.life import Life, Mark, Post, Span, SpanKind
from gearlife.domain.seasons import Season

# Numerals of years stand at least so far apart, in letters; there is a numeral every so many years.
YEAR_LETTERS = 6
STEPS = (1, 2, 5, 10, 20, 50, 100)
QUARTERS = ((4, 1), (7, 1), (10, 1))
LONGEST_LABEL = 26
MOST_LANES = 7
MOST_SPANS = 5


@dataclass(frozen=True)
class Frame:
    """How wide the strip is, how wide a letter, how near two marks may come, and how a day is written."""

    width: float
    letter: float
    near: float
    say: Callable[[date], str]
    today: str = "today"
    edge: float = 14.0


@dataclass(frozen=True)
class Scale:
    """Days to places; monotone, and within the frame's edges for every day from first to last."""

    first: date
    last: date
    frame: Frame

    def x(self, day: date) -> float:
        """The place of a day."""
        inside = min(max(day, self.first), self.last)
        part = (inside - self.first).days / (self.last - self.first).days
        return round(self.frame.edge + part * (self.frame.width - 2 * self.frame.edge), 1)


@dataclass(frozen=True)
class Year:
    """A yard line: 1 January of a year; quarters between are hash marks. Not every year has room for its numeral."""

    x: float
    numeral: str = ""
    hash_mark: bool = False


@dataclass(frozen=True)
class Stretch:
    """A season on the line."""

    left: float
    right: float
    season: Season


@dataclass(frozen=True)
class Told:
    """One or more marks at one place, from `left` to `right`, with words on a lane; no lane: no room for words."""

    x: float
    left: float
    right: float
    label: str
    place: Label
    lane: int | None
    of: tuple[Mark, ...]


@dataclass(frozen=True)
class Flag:
    """A limit's post, or today's where `of` is None."""

    x: float
    label: str
    place: Label
    lane: int | None
    of: Post | None


@dataclass(frozen=True)
class Bar:
    """One or more spans as a bar with words beside it."""

    left: float
    right: float
    label: str
    text: float
    lane: int
    of: tuple[Span, ...]

    @property
    def lasts(self) -> bool:
        """Whether one of them has not ended."""
        return any(span.ends_on is None for span in self.of)


@dataclass(frozen=True)
class Strip:
    """Everything that the picture shows, as places on a line of `frame.width`."""

    life: Life
    frame: Frame
    begins: float
    made_by: float
    ends: float
    today: float
    years: tuple[Year, ...]
    seasons: tuple[Stretch, ...]
    marks: tuple[Told, ...]
    posts: tuple[Flag, ...]
    worn: tuple[Bar, ...]
    held: tuple[Bar, ...]
    beyond: tuple[Post, ...] = field(default=())

    @property
    def made_known(self) -> bool:
        """Whether the line begins where it was made; else its beginning is open."""
        return self.life.made_earliest is not None


def strip_of(life: Life, frame: Frame) -> Strip:
    """Lay a life out on a frame."""
    scale = Scale(*life.frame, frame)
    return Strip(
        life=life,
        frame=frame,
        begins=scale.x(life.begins_on),
        made_by=scale.x(max(life.begins_on, life.made_latest or life.begins_on)),
        ends=scale.x(life.ends_on),
        today=scale.x(life.today),
        years=tuple(_years(scale)),
        seasons=tuple(Stretch(scale.x(s.starts_on), scale.x(s.ends_on), s) for s in life.lived()),
        marks=tuple(_marks(life, scale)),
        posts=tuple(_posts(life, scale)),
        worn=tuple(_bars(life, scale, SpanKind.WORN)),
        held=tuple(_bars(life, scale, SpanKind.HELD)),
        beyond=tuple(life.beyond()),
    )


def _years(scale: Scale) -> list[Year]:
    years = range(scale.first.year, scale.last.year + 1)
    starts = [(year, scale.x(date(year, 1, 1))) for year in years if date(year, 1, 1) >= scale.first]
    apart = min((right - left for (_, left), (_, right) in pairwise(starts)), default=scale.frame.width)
    step = next((step for step in STEPS if step * apart >= YEAR_LETTERS * scale.frame.letter), STEPS[-1])
    lines = [Year(x, str(year) if year % step == 0 else "") for year, x in starts]
    if apart < 4 * scale.frame.near:
        return lines
    quarters = [date(year, *quarter) for year in years for quarter in QUARTERS]
    return lines + [Year(scale.x(day), hash_mark=True) for day in quarters if scale.first <= day <= scale.last]


def _marks(life: Life, scale: Scale) -> list[Told]:
    groups = [group for series in _series(life) for group in _near(series, scale)]
    labels = [_label(group) for group in groups]
    places, lanes = _beside([(_middle(of, scale), label) for of, label in zip(groups, labels, strict=True)], scale)
    told = [
        Told(place.x, scale.x(of[0].day), scale.x(of[-1].day), label, place, lane, of)
        for of, label, place, lane in zip(groups, labels, places, lanes, strict=True)
    ]
    return sorted(told, key=lambda each: (each.x, each.left))


def _series(life: Life) -> list[list[tuple[Mark, ...]]]:
    """The marks in groups, and the groups that may be joined: those told by themselves, and each counted sort."""
    series: dict[str, list[tuple[Mark, ...]]] = defaultdict(list)
    for group in counted_by_season(life.marks, life.seasons):
        series[group[0].counted].append(group)
    return [of for _, of in sorted(series.items())]


def counted_by_season(marks: Iterable[Mark], seasons: Iterable[Season]) -> list[tuple[Mark, ...]]:
    """The marks by day, those that are counted in groups: one sort in one season, or between two."""
    by_day, lived = sorted(marks, key=lambda mark: (mark.day, mark.kind, mark.words)), sorted(seasons)
    groups: dict[object, list[Mark]] = defaultdict(list)
    for at, mark in enumerate(by_day):
        groups[(mark.counted, *_part(mark.day, lived)) if mark.counted else at].append(mark)
    return [tuple(group) for group in groups.values()]


def _part(day: date, seasons: Sequence[Season]) -> tuple[int, bool]:
    """The season that a day is in, else which it comes after."""
    begun = [season for season in seasons if season.starts_on <= day]
    return len(begun), any(season.ends_on >= day for season in begun)


def _near(groups: Iterable[tuple[Mark, ...]], scale: Scale) -> list[tuple[Mark, ...]]:
    """Join what stands too near to be told apart: nothing is dropped, one mark stands for several."""
    joined: list[tuple[Mark, ...]] = []
    at = float("-inf")
    for group in groups:
        x = _middle(group, scale)
        if joined and x - at < scale.frame.near:
            joined[-1] = tuple(sorted((*joined[-1], *group), key=lambda mark: mark.day))
            at = _middle(joined[-1], scale)
        else:
            joined.append(group)
            at = x
    return joined


def _middle(of: Sequence[Mark], scale: Scale) -> float:
    return round((scale.x(of[0].day) + scale.x(of[-1].day)) / 2, 1)


def _label(of: Sequence[Mark]) -> str:
    """What stands beside the mark: itself, a number of one sort, or the weightiest and how many more."""
    if len(of) == 1:
        return shortened(of[0].label)
    if of[0].counted:
        return f"{len(of)} {of[0].counted}"
    return f"{shortened(max(of, key=lambda mark: (mark.weight, mark.day)).label)} +{len(of) - 1}"


def _posts(life: Life, scale: Scale) -> list[Flag]:
    """Today and every limit in the frame; one without a known day stands where the line begins."""
    say, begin = scale.frame.say, scale.x(life.begins_on)
    posts = sorted(life.within(), key=lambda post: (post.falls_on or date.min, post.label))
    told: list[tuple[float, str, Post | None]] = [(scale.x(life.today), scale.frame.today, None)]
    for post in posts:
        name = shortened(post.label)
        told.append(
            (scale.x(post.falls_on), f"{name} {say(post.falls_on)}", post) if post.falls_on else (begin, name, post)
        )
    places, lanes = _beside([flag[:2] for flag in told], scale)
    return [Flag(*flag[:2], place, lane, flag[2]) for flag, place, lane in zip(told, places, lanes, strict=True)]


def _bars(life: Life, scale: Scale, kind: SpanKind) -> list[Bar]:
    spans = sorted((s for s in life.spans if s.kind is kind), key=lambda s: (s.starts_on, s.last(life.today), s.words))
    drawn = [_bar(life, scale, (span,), span.label) for span in spans]
    lanes = packed([_extent(bar, scale) for bar in drawn], most=MOST_SPANS)
    placed = [_on(bar, lane) for bar, lane in zip(drawn, lanes, strict=True) if lane is not None]
    rest = tuple(span for span, lane in zip(spans, lanes, strict=True) if lane is None)
    return [*placed, _on(_bar(life, scale, rest, f"{len(rest)} more"), MOST_SPANS)] if rest else placed


def _bar(life: Life, scale: Scale, of: tuple[Span, ...], label: str) -> Bar:
    left = scale.x(min(span.starts_on for span in of))
    right = scale.x(max(span.last(life.today) for span in of))
    short = shortened(label)
    text = min(left, max(0.0, scale.frame.width - len(short) * scale.frame.letter))
    return Bar(left, max(right, left + 2), short, text, 0, of)


def _on(bar: Bar, lane: int) -> Bar:
    return Bar(bar.left, bar.right, bar.label, bar.text, lane, bar.of)


def _extent(bar: Bar, scale: Scale) -> tuple[float, float]:
    return min(bar.left, bar.text), max(bar.right, bar.text + len(bar.label) * scale.frame.letter)


def _beside(words: Sequence[tuple[float, str]], scale: Scale) -> tuple[list[Label], list[int | None]]:
    wanted = [(x, len(label) * scale.frame.letter) for x, label in words]
    return beside_all(wanted, edge=scale.frame.width, most=MOST_LANES)


def shortened(label: str) -> str:
    """As much of the words as stands beside a mark; the whole is in the table."""
    return label if len(label) <= LONGEST_LABEL else f"{label[: LONGEST_LABEL - 1].rstrip()}…"
