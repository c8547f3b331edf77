"""Lives as hypothesis draws them: any days, in any order, with hundreds of looks."""

from datetime import date, timedelta

from hypothesis import strategies as st

from gearlife.domain.life import Life, Mark, Post, Span, SpanKind
from gearlife.domain.seasons import Season
from gearlife.domain.strips import Frame
from gearlife.domain.vocabulary import Effect

TODAY = date(2026, 9, 15)
DAYS = st.dates(date(2005, 1, 1), date(2040, 12, 31))
PAST = st.dates(date(2005, 1, 1), TODAY)
WORDS = st.text("abcdefgh ", min_size=1, max_size=40)
WIDE = Frame(width=960, letter=7.5, near=9, say=date.isoformat)
NARROW = Frame(width=330, letter=7.5, near=9, say=date.isoformat)
FRAMES = st.sampled_from([WIDE, NARROW])

MARKS = st.builds(
    Mark, PAST, st.just("certified"), WORDS, WORDS, st.integers(0, 3), st.sampled_from(["", "", "looks", "inspections"])
)
SPANS = st.builds(Span, st.sampled_from(SpanKind), DAYS, st.none() | DAYS, WORDS, WORDS)
POSTS = st.builds(Post, WORDS, WORDS, st.none() | DAYS, st.sampled_from(Effect))
SEASONS = st.builds(
    lambda starts, days: Season(starts, starts + timedelta(days), starts.year), DAYS, st.integers(0, 200)
)


@st.composite
def lives(draw: st.DrawFn) -> Life:
    """Any life; made before today, or on an unknown day."""
    earliest = draw(st.none() | PAST)
    return Life(
        today=TODAY,
        seen_on=draw(PAST),
        made_earliest=earliest,
        made_latest=earliest + timedelta(draw(st.integers(0, 365))) if earliest else None,
        retired_on=draw(st.none() | PAST),
        seasons=tuple(draw(st.lists(SEASONS, max_size=6))),
        marks=tuple(draw(st.lists(MARKS, max_size=40))),
        spans=tuple(draw(st.lists(SPANS, max_size=14))),
        posts=tuple(draw(st.lists(POSTS, max_size=7))),
    )


def weekly(first: date, number: int) -> tuple[Mark, ...]:
    """So many weekly looks in which nothing was found."""
    return tuple(
        Mark(first + timedelta(7 * week), "looked", "look", "Looked over: nothing found.", counted="looks")
        for week in range(number)
    )
