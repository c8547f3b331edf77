"""The life strip as lines, bars and words of an SVG: what stands above what. Where each stands is the domain's.

Above the line the limits, on it the years and seasons, below it what happened, who wore it and what held it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from gearlife.domain.lanes import Label
from gearlife.domain.life import Life, Post
from gearlife.domain.strips import Bar, Flag, Frame, Strip, Told, strip_of
from gearlife.web.tags import short_day

# Pixels of a picture that is drawn at its own size.
LETTER, NEAR = 7.7, 9.0
LANE, TURF, NUMERALS, BAR, HEADING = 19.0, 26.0, 20.0, 32.0, 24.0
# Half of what the numeral of a year takes.
HALF_YEAR = 20.0
WIDTHS = {"narrow": 330.0, "middle": 640.0, "wide": 1040.0}


@dataclass(frozen=True)
class Shape:
    """A path with its class, and words with theirs; `title` says the whole of it."""

    kind: str
    d: str = ""
    text: str = ""
    x: float = 0.0
    y: float = 0.0
    anchor: str = "start"
    title: str = ""


@dataclass(frozen=True)
class Drawing:
    """One picture of a life at one width."""

    name: str
    width: float
    height: float
    shapes: tuple[Shape, ...]
    beyond: tuple[Post, ...]


def drawings_of(life: Life) -> list[Drawing]:
    """The same life on a phone, on paper and on a desk; each page shows the one that fits."""
    return [_drawing(name, strip_of(life, _frame(width))) for name, width in WIDTHS.items()]


def _frame(width: float) -> Frame:
    return Frame(width=width, letter=LETTER, near=NEAR, say=_say, today=_("today"))


def _say(day: date) -> str:
    return short_day(day)


def _drawing(name: str, strip: Strip) -> Drawing:
    top = _lanes(strip.posts) * LANE + 8
    below = top + TURF + NUMERALS
    worn = below + _lanes(strip.marks) * LANE + 8
    held = worn + _rows(strip.worn, _("Worn by"))
    shapes = [
        *_ground(strip, top),
        *_line(strip, top),
        *(shape for flag in strip.posts for shape in _flag(flag, top)),
        *(shape for told in strip.marks for shape in _told(told, top + TURF, below)),
        *_numerals(strip, top + TURF + 15),
        *_bars(strip.worn, worn, "worn", _("Worn by")),
        *_bars(strip.held, held, "held", _("Held")),
    ]
    return Drawing(name, strip.frame.width, held + _rows(strip.held, _("Held")) + 4, tuple(shapes), strip.beyond)


def _lanes(told: Iterable[Flag | Told]) -> int:
    return max((each.lane + 1 for each in told if each.lane is not None), default=0)


def _rows(bars: tuple[Bar, ...], heading: str) -> float:
    return _below_heading(bars, heading) + (max(bar.lane for bar in bars) + 1) * BAR if bars else 0.0


def _below_heading(bars: tuple[Bar, ...], heading: str) -> float:
    """The heading stands beside the first lane where there is room, else above it."""
    taken = min(min(bar.left, bar.text) for bar in bars if bar.lane == 0)
    return 4.0 if taken > (len(heading) + 2) * LETTER else HEADING


def _ground(strip: Strip, top: float) -> Iterator[Shape]:
    """Seasons as stretches of turf, years as yard lines with their numerals, quarters as hash marks."""
    bottom = top + TURF
    for season in strip.seasons:
        words = _("Season %(year)s") % {"year": season.season.year}
        yield Shape("turf", f"M{season.left} {top}H{season.right}V{bottom}H{season.left}Z", title=words)
    for year in strip.years:
        if year.hash_mark:
            yield Shape("hash", f"M{year.x} {top}v5M{year.x} {bottom}v-5")
        else:
            yield Shape("yard", f"M{year.x} {top}V{bottom}")


def _numerals(strip: Strip, y: float) -> Iterator[Shape]:
    """The years' numerals, over whatever leads past them."""
    for year in strip.years:
        x = min(max(year.x, HALF_YEAR), strip.frame.width - HALF_YEAR)
        yield Shape("numeral", text=year.numeral, x=x, y=y, anchor="middle")


def _line(strip: Strip, top: float) -> Iterator[Shape]:
    """The line itself: its beginning, its end, and what was lived past it."""
    middle = top + TURF / 2
    if strip.made_by > strip.begins:
        words = _("made between these days")
        yield Shape("maybe", f"M{strip.begins} {middle - 6}H{strip.made_by}v12H{strip.begins}Z", title=words)
    yield Shape("life", f"M{strip.begins} {middle}H{strip.ends}")
    if strip.ends < strip.today and not strip.life.retired_on:
        yield Shape("past", f"M{strip.ends} {middle}H{strip.today}", title=_("past the day that ends it"))
    if strip.made_known:
        yield Shape("made", f"M{strip.begins} {top}V{top + TURF}", title=_("made"))
    else:
        torn = f"M{strip.begins - 3} {middle - 11}l5 6l-5 5l5 5l-5 6"
        yield Shape("torn", torn, title=_("when it was made is not known: the line begins with the earliest evidence"))
    if strip.life.retired_on or (strip.life.ended_by and strip.life.ended_by.falls_on):
        yield Shape("end", f"M{strip.ends} {top - 4}V{top + TURF + 4}")


def _flag(flag: Flag, top: float) -> Iterator[Shape]:
    """A limit's post with its words, or today's."""
    height = top - 4 - ((flag.lane or 0) + 1) * LANE + 4
    kind = "today" if flag.of is None else "stop" if flag.of.ends_it else "limit"
    title = "" if flag.of is None else f"{flag.label}. {flag.of.words} {flag.of.source}".strip()
    # A limit without a known day stands above the torn beginning and not on it.
    foot = top - 2 if flag.of and flag.of.falls_on is None else top + TURF
    yield Shape(f"post {kind}", f"M{flag.x} {height}V{foot}", title=title)
    if flag.lane is not None:
        yield _words(f"word {kind}", flag.label, flag.place, height + 12, title)


def _told(told: Told, turf: float, below: float) -> Iterator[Shape]:
    """What happened: a mark on the line, or a bracket over the days of many, and its words on their lane."""
    title = " ".join(dict.fromkeys(mark.words for mark in told.of))
    kind = "mark grave" if max(mark.weight for mark in told.of) > 2 else "mark"  # noqa: PLR2004 - graver than a certification
    if told.right > told.left:
        yield Shape("bracket", f"M{told.left} {turf - 5}v5H{told.right}v-5", title=title)
    leader = below + (told.lane or 0) * LANE
    foot = turf if told.lane is None else leader + 3
    yield Shape(kind, f"M{told.x} {turf - 8}V{foot}", title=title)
    if told.lane is not None:
        yield _words("word", told.label, told.place, leader + 14, title)


def _bars(bars: tuple[Bar, ...], top: float, kind: str, heading: str) -> Iterator[Shape]:
    if bars:
        yield Shape("heading", text=heading, x=0, y=top + 16)
    for bar in bars:
        y = top + _below_heading(bars, heading) + bar.lane * BAR
        title = " ".join(span.words for span in bar.of)
        open_end = "" if bar.lasts else "m0 -5v10"
        yield Shape(kind, f"M{bar.left} {y + 21}H{bar.right}{open_end}M{bar.left} {y + 16}v10", title=title)
        yield Shape("word", text=bar.label, x=bar.text, y=y + 12, title=title)


def _words(kind: str, text: str, place: Label, y: float, title: str) -> Shape:
    """Words right or left of their leader, as far as the lane was measured for them."""
    leftwards = place.left < place.x
    fits = place.right == place.x if leftwards else True
    if leftwards and fits:
        return Shape(kind, text=text, x=place.x - 4, y=y, anchor="end", title=title)
    return Shape(kind, text=text, x=place.left + (0 if leftwards else 4), y=y, title=title)
