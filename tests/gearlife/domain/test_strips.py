"""The life strip, of any life on any frame, and of a few whose picture can be said beforehand."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, pairwise

from hypothesis import given

from gearlife.domain.lanes import Label
from gearlife.domain.life import Life, Mark, Post, Span, SpanKind
from gearlife.domain.life_rows import rows_of
from gearlife.domain.seasons import Season
from gearlife.domain.strips import Bar, Frame, Scale, Strip, strip_of
from gearlife.domain.vocabulary import Effect
from tests.gearlife.domain.lives import FRAMES, NARROW, TODAY, WIDE, lives, weekly


def words_on_lanes(strip: Strip) -> list[dict[int, list[Label]]]:
    """The words below the line and those above it, by lane."""
    areas: list[dict[int, list[Label]]] = []
    for told in (strip.marks, strip.posts):
        lanes: dict[int, list[Label]] = {}
        for each in told:
            if each.lane is not None:
                lanes.setdefault(each.lane, []).append(each.place)
        areas.append(lanes)
    return areas


def extent(bar: Bar, frame: Frame) -> tuple[float, float]:
    return min(bar.left, bar.text), max(bar.right, bar.text + len(bar.label) * frame.letter)


def places(strip: Strip) -> list[float]:
    lines = [strip.begins, strip.made_by, strip.ends, strip.today, *(year.x for year in strip.years)]
    stretches = [x for told in strip.marks for x in (told.left, told.right)]
    stretches += [x for season in strip.seasons for x in (season.left, season.right)]
    bars = [x for bar in (*strip.worn, *strip.held) for x in (bar.left, bar.right - 2)]
    return [*lines, *stretches, *bars, *(flag.x for flag in strip.posts), *(told.x for told in strip.marks)]


@given(lives(), FRAMES)
def test_a_later_day_never_stands_further_left(life: Life, frame: Frame) -> None:
    scale = Scale(*life.frame, frame)
    days = sorted({mark.day for mark in life.marks} | {life.begins_on, life.ends_on, life.today, *life.frame})
    assert all(scale.x(one) <= scale.x(other) for one, other in pairwise(days))
    assert (scale.x(days[0]), scale.x(days[-1])) == (frame.edge, frame.width - frame.edge)


@given(lives(), FRAMES)
def test_everything_stands_inside_the_frame(life: Life, frame: Frame) -> None:
    strip = strip_of(life, frame)
    assert all(frame.edge <= x <= frame.width - frame.edge for x in places(strip))
    shown = [label for area in words_on_lanes(strip) for labels in area.values() for label in labels]
    assert all(0 <= label.left < label.right <= frame.width for label in shown)
    assert strip.begins <= strip.ends
    assert strip.begins <= strip.made_by


@given(lives(), FRAMES)
def test_no_words_lie_on_other_words(life: Life, frame: Frame) -> None:
    for lanes in words_on_lanes(strip_of(life, frame)):
        for labels in lanes.values():
            assert all(a.right <= b.left or b.right <= a.left for a, b in combinations(labels, 2))


@given(lives(), FRAMES)
def test_no_leader_goes_through_words(life: Life, frame: Frame) -> None:
    for lanes in words_on_lanes(strip_of(life, frame)):
        for lane, labels in lanes.items():
            further = [label for other, of in lanes.items() if other > lane for label in of]
            assert not [1 for words in labels for label in further if words.left < label.x < words.right]


@given(lives(), FRAMES)
def test_no_bar_lies_on_another(life: Life, frame: Frame) -> None:
    strip = strip_of(life, frame)
    for bars in (strip.worn, strip.held):
        for one, other in combinations([bar for bar in bars if len(bar.of) == 1], 2):
            (left, right), (other_left, other_right) = extent(one, frame), extent(other, frame)
            assert one.lane != other.lane or right <= other_left or other_right <= left


@given(lives(), FRAMES)
def test_nothing_that_is_recorded_is_lost(life: Life, frame: Frame) -> None:
    strip = strip_of(life, frame)
    assert Counter(mark for told in strip.marks for mark in told.of) == Counter(life.marks)
    assert Counter(span for bar in (*strip.worn, *strip.held) for span in bar.of) == Counter(life.spans)
    posts = [flag.of for flag in strip.posts if flag.of] + list(strip.beyond)
    assert Counter(posts) == Counter(life.posts)


@given(lives())
def test_the_table_tells_every_fact_of_the_picture(life: Life) -> None:
    told = Counter(fact for row in rows_of(life) for fact in row.of)
    assert told == Counter([*life.marks, *life.spans, *life.posts, *life.lived()])
    days = {day for row in rows_of(life) for day in (row.first, row.last, *row.days)}
    assert {mark.day for mark in life.marks} <= days
    assert {span.ends_on for span in life.spans} <= days | {None}


@given(lives(), FRAMES)
def test_the_same_life_is_always_drawn_the_same_whatever_the_order(life: Life, frame: Frame) -> None:
    turned = replace(life, marks=life.marks[::-1], spans=life.spans[::-1], posts=life.posts[::-1])
    one, other = strip_of(life, frame), strip_of(turned, frame)
    drawn = [[(told.x, told.label, told.lane) for told in strip.marks] for strip in (one, other)]
    assert sorted(drawn[0], key=str) == sorted(drawn[1], key=str)
    assert (one.begins, one.ends, one.years, one.seasons) == (other.begins, other.ends, other.years, other.seasons)


def test_three_hundred_weekly_looks_are_a_few_numbers() -> None:
    seasons = tuple(Season(date(year, 8, 1), date(year, 11, 30), year) for year in range(2020, 2026))
    life = Life(TODAY, date(2020, 1, 1), date(2020, 1, 1), seasons=seasons, marks=weekly(date(2020, 8, 1), 300))
    told = strip_of(life, WIDE).marks
    assert len(told) == 12  # six seasons and the six times between and after them
    assert told[0].label == "18 looks"  # 1 Aug to 28 Nov 2020: 18 Saturdays
    assert all(each.lane is not None for each in told)
    assert len(strip_of(life, NARROW).marks) == 12


def test_the_table_names_the_days_of_looks_that_are_told_by_their_number() -> None:
    life = Life(TODAY, date(2024, 1, 1), date(2024, 1, 1), marks=weekly(date(2024, 8, 6), 3))
    made, row = rows_of(life)
    assert (made.first, made.words) == (date(2024, 1, 1), "Made.")
    assert row.words == "3 looks. Looked over: nothing found."
    assert row.days == (date(2024, 8, 6), date(2024, 8, 13), date(2024, 8, 20))


def test_what_was_found_is_not_hidden_among_looks() -> None:
    found = Mark(date(2024, 9, 3), "looked", "shell: crack", "Looked over: shell: crack (stop).", weight=3)
    life = Life(TODAY, date(2024, 1, 1), date(2024, 1, 1), marks=(*weekly(date(2024, 8, 6), 16), found))
    labels = {told.label for told in strip_of(life, WIDE).marks}
    assert labels == {"16 looks", "shell: crack"}


def test_of_marks_too_near_the_weightiest_is_named() -> None:
    days = [date(2025, 3, 1) + timedelta(day) for day in range(3)]
    marks = tuple(Mark(day, "", word, word, weight) for day, word, weight in zip(days, "abc", (0, 2, 1), strict=True))
    life = Life(TODAY, date(2015, 1, 1), date(2015, 1, 1), marks=marks)
    assert [told.label for told in strip_of(life, WIDE).marks] == ["b +2"]


def limits(*falls: tuple[str, date | None, Effect]) -> tuple[Post, ...]:
    return tuple(Post(label, label, falls_on, effect) for label, falls_on, effect in falls)


def test_the_line_ends_with_the_first_limit_that_ends_it_and_later_ones_are_beyond() -> None:
    posts = limits(
        ("inspection", date(2026, 12, 1), Effect.NO_ISSUE),
        ("certification", date(2027, 3, 1), Effect.STOP),
        ("age", date(2041, 3, 1), Effect.STOP),
    )
    life = Life(TODAY, date(2025, 4, 1), date(2025, 3, 1), date(2025, 3, 31), posts=posts)
    strip = strip_of(life, WIDE)
    assert life.ends_on == date(2027, 3, 1)
    assert [post.label for post in strip.beyond] == ["age"]
    assert [flag.label for flag in strip.posts if flag.of] == ["inspection 2026-12-01", "certification 2027-03-01"]
    assert strip.ends == WIDE.width - WIDE.edge


def test_a_line_that_ended_is_drawn_on_to_today() -> None:
    life = Life(TODAY, date(2010, 1, 1), date(2010, 1, 1), posts=limits(("age", date(2026, 1, 1), Effect.STOP)))
    strip = strip_of(life, WIDE)
    assert strip.ends < strip.today == WIDE.width - WIDE.edge


def test_where_nothing_ends_it_the_line_reaches_the_latest_limit_else_past_today() -> None:
    posts = limits(("look", date(2026, 9, 20), Effect.WARN), ("refit", date(2027, 8, 1), Effect.WARN))
    assert Life(TODAY, date(2025, 1, 1), posts=posts).ends_on == date(2027, 8, 1)
    assert Life(TODAY, date(2025, 1, 1)).ends_on == date(2026, 12, 14)  # 90 days on


def test_an_unknown_date_opens_the_line_at_the_earliest_evidence() -> None:
    certified = Mark(date(2022, 2, 1), "certified", "recertified", "Recertified.")
    life = Life(TODAY, date(2024, 5, 1), posts=limits(("date", None, Effect.STOP)), marks=(certified,))
    strip = strip_of(life, WIDE)
    assert not strip.made_known
    assert life.begins_on == date(2022, 2, 1)
    assert strip.begins == strip.ends == strip.posts[-1].x == WIDE.edge


def test_a_retired_item_ends_with_its_retirement() -> None:
    life = Life(TODAY, date(2015, 1, 1), date(2015, 1, 1), retired_on=date(2024, 1, 1))
    assert life.ended_by is None
    assert life.ends_on == date(2024, 1, 1)


def test_a_span_that_lasts_reaches_today() -> None:
    worn = Span(SpanKind.WORN, date(2026, 8, 1), None, "12 B.", "Worn by 12 B.")
    strip = strip_of(Life(TODAY, date(2025, 1, 1), date(2025, 1, 1), spans=(worn,)), WIDE)
    assert strip.worn[0].right == strip.today
    assert strip.worn[0].lasts


def test_years_are_marked_off_and_their_numerals_leave_room_for_each_other() -> None:
    strip = strip_of(Life(TODAY, date(1996, 5, 1), date(1996, 5, 1)), NARROW)
    numerals = [year for year in strip.years if year.numeral]
    assert [year.numeral for year in numerals] == ["2000", "2005", "2010", "2015", "2020", "2025"]
    lines = [year.x for year in strip.years if not year.hash_mark]
    assert len(lines) == 30  # 1 January of 1997 to 2026
