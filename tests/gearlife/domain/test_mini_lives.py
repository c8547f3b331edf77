"""The small strip: one scale for every item."""

from datetime import date, timedelta
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.ids import uuid7
from gearlife.domain.mini_lives import TODAY, WIDTH, Mini, mini_strips, place
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.recorded import ClockRecord, ItemRecord, Recorded
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Kind, Liner, Whereabouts

DAY = date(2026, 9, 15)
CLUB, ITEM = uuid7(), uuid7()
DAYS = st.dates(date(1990, 1, 1), date(2060, 1, 1))


def item(**facts: object) -> ItemRecord:
    usual: dict[str, object] = {
        "id": ITEM,
        "organisation_id": CLUB,
        "club_id": CLUB,
        "timezone": "UTC",
        "kind": Kind.HELMET,
        "model_id": CLUB,
        "whereabouts": Whereabouts.STOCK,
        "taken_in_on": date(2024, 1, 1),
        "stated_interval_months": None,
        "interval_stated_in": "",
        "liner": Liner.OTHER,
        "retired_on": None,
        "retired_reason": "",
        "made_earliest": date(2020, 3, 1),
        "certified_on": None,
        "clocks_revision": 0,
        "policy_revision": 0,
    }
    lasts = ("last_look_at", "last_full_inspection_at", "last_air_check_at", "last_refit_at", "came_back_at")
    return ItemRecord(**(usual | dict.fromkeys(lasts) | facts))  # type: ignore[arg-type]


def clock(falls_on: date, effect: Effect = Effect.STOP, code: str = "certification") -> ClockRecord:
    days = (UNKNOWN_DAY, Counts.MONTHS, 24, falls_on, falls_on, LAST_DAY)
    return ClockRecord(ITEM, None, code, Anchor.MADE, *days, effect, in_season_only=False)


def mini(*clocks: ClockRecord, seasons: tuple[Season, ...] = (), **facts: object) -> Mini:
    about = Recorded({ITEM: item(**facts)}, {}, {ITEM: list(clocks)}, {CLUB: list(seasons)}, {})
    return mini_strips(about, DAY)[ITEM]


@given(DAYS, DAYS, st.sampled_from(Effect), st.none() | DAYS)
def test_any_strip_keeps_inside_its_width(made: date, falls_on: date, effect: Effect, retired_on: date | None) -> None:
    strip = mini(clock(falls_on, effect), made_earliest=min(made, DAY), retired_on=retired_on)
    assert 0 <= strip.line[0] <= strip.line[1] <= WIDTH
    assert strip.post is None or 0 <= strip.post <= WIDTH


@given(DAYS, DAYS)
def test_the_older_stands_further_left_whatever_else_is_on_the_page(one: date, other: date) -> None:
    older, newer = sorted([one, other])
    assert place(older, DAY) <= place(newer, DAY)


def test_it_reaches_from_the_day_it_was_made_to_the_first_limit_that_ends_it() -> None:
    strip = mini(clock(date(2026, 11, 1), Effect.NO_ISSUE), clock(date(2027, 9, 15)), clock(date(2036, 3, 1)))
    assert strip.line == (TODAY - 65.4, TODAY + 10.0)  # 2389 and 365 days of 365.2425 to ten units
    assert (strip.ends_on, strip.ends_by, strip.past) == (date(2027, 9, 15), "certification", None)
    assert strip.post == TODAY + 10.0


def test_what_has_passed_its_end_is_drawn_on_to_today() -> None:
    strip = mini(clock(DAY - timedelta(365)))
    assert strip.past == (TODAY - 10.0, TODAY)


def test_without_a_known_date_it_begins_open_at_the_earliest_evidence() -> None:
    strip = mini(clock(UNKNOWN_DAY), made_earliest=None, certified_on=date(2022, 9, 15))
    assert (strip.made_on, strip.begins_on, strip.undated, strip.post) == (None, date(2022, 9, 15), True, None)
    assert strip.past == (place(date(2022, 9, 15), DAY), TODAY)


def test_a_retired_one_ends_with_its_retirement() -> None:
    strip = mini(retired_on=date(2025, 9, 15))
    assert (strip.retired, strip.ends_on, strip.past) == (True, date(2025, 9, 15), None)


def test_only_seasons_that_it_has_lived_in_are_shaded() -> None:
    played = tuple(Season(date(year, 8, 1), date(year, 11, 30), year) for year in (2018, 2021, 2026, 2029))
    strip = mini(clock(date(2027, 9, 15)), seasons=played)
    assert len(strip.seasons) == 2
    assert all(strip.line[0] <= left < right <= strip.line[1] for left, right in strip.seasons)


def test_a_limit_far_ahead_runs_off_the_edge() -> None:
    strip = mini(clock(date(2040, 1, 1)))
    assert (strip.runs_off, strip.post) == (True, None)


def test_ids_lead_to_strips() -> None:
    other: UUID = uuid7()
    about = Recorded({ITEM: item(), other: item(id=other)}, {}, {}, {}, {})
    assert set(mini_strips(about, DAY)) == {ITEM, other}
