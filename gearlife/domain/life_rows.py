"""The facts of a life strip as rows of a table, by their days: whatever the picture shows is said here too."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from gearlife.domain.life import Life, Mark, Post, Span, SpanKind
from gearlife.domain.seasons import Season
from gearlife.domain.strips import counted_by_season

Fact = Mark | Span | Post | Season


@dataclass(frozen=True)
class Row:
    """One row: its first day (None: nobody knows it), its last where it lasted, what it is, and the facts it tells.

    `lasts` says that it has not ended; `days` are those of facts that are told together.
    """

    sort: str
    first: date | None
    last: date | None
    words: str
    of: tuple[Fact, ...]
    lasts: bool = False
    days: tuple[date, ...] = ()
    source: str = ""
    read: str = ""


def rows_of(life: Life) -> list[Row]:
    """Every fact of the life, the earliest first; a limit without a known day before all others."""
    rows = [_made(life), *_marks(life.marks, life.seasons), *_spans(life), *_posts(life), *_seasons(life)]
    return sorted(rows, key=lambda row: (row.first or date.min, row.sort, row.words))


def _made(life: Life) -> Row:
    if life.made_earliest is None:
        return Row("made", None, None, "When it was made is not known; the line begins with the earliest evidence.", ())
    latest = life.made_latest if life.made_latest != life.made_earliest else None
    return Row("made", life.made_earliest, latest, "Made between these days." if latest else "Made.", ())


def _marks(marks: Sequence[Mark], seasons: Sequence[Season]) -> Iterator[Row]:
    for of in counted_by_season(marks, seasons):
        days = tuple(mark.day for mark in of)
        words = list(dict.fromkeys(mark.words for mark in of))
        told = f"{len(of)} {of[0].counted}. {' '.join(words)}" if len(of) > 1 else words[0]
        yield Row("mark", days[0], days[-1] if len(of) > 1 else None, told, of, days=days if len(of) > 1 else ())


def _spans(life: Life) -> Iterator[Row]:
    for span in life.spans:
        sort = "worn" if span.kind is SpanKind.WORN else "held"
        yield Row(sort, span.starts_on, span.ends_on, span.words, (span,), lasts=span.ends_on is None)


def _posts(life: Life) -> Iterator[Row]:
    for post in life.posts:
        words = f"{post.label.capitalize()}: {post.words}"
        yield Row("limit", post.falls_on, None, words, (post,), source=post.source, read=post.read)


def _seasons(life: Life) -> Iterator[Row]:
    for season in life.lived():
        yield Row("season", season.starts_on, season.ends_on, f"Season {season.year}.", (season,))
