"""In which season a limit is reached, against the seasons laid out one after the other."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as some

from gearlife.domain.seasons import Season, after_season, season_of

S2025 = Season(date(2025, 8, 16), date(2025, 12, 6), 2025)
S2026 = Season(date(2026, 8, 15), date(2026, 12, 5), 2026)
# Any of some years are entered; a season ends between August and the end of the following January.
seasons = some.dictionaries(some.integers(2018, 2030), some.integers(0, 180), max_size=8).map(
    lambda ends: [
        Season(date(year, 7, 20), date(year, 8, 1) + timedelta(days=after), year) for year, after in ends.items()
    ]
)


@pytest.mark.parametrize(
    ("day", "year"),
    [
        (date(2025, 12, 6), 2025),
        (date(2025, 12, 7), 2026),
        (date(2026, 3, 1), 2026),
        (date(2026, 12, 5), 2026),
        (date(2026, 12, 6), 2027),
        (date(2027, 6, 1), 2027),
        (date(2024, 1, 2), 2024),
    ],
)
def test_a_limit_is_reached_in_the_first_season_that_is_not_over(day: date, year: int) -> None:
    assert season_of([S2026, S2025], day) == year


def test_without_any_season_it_is_the_calendar_year() -> None:
    assert season_of([], date(2031, 5, 1)) == 2031


@given(seasons=seasons, day=some.dates(date(2015, 1, 1), date(2034, 12, 31)))
def test_it_is_the_first_to_end_of_what_was_entered_and_of_the_other_calendar_years(
    seasons: list[Season], day: date
) -> None:
    ends = {year: date(year, 12, 31) for year in range(2010, 2040)} | {each.year: each.ends_on for each in seasons}
    assert season_of(seasons, day) == min((end, year) for year, end in ends.items() if end >= day)[1]


@given(seasons=seasons, year=some.integers(2015, 2034))
def test_what_falls_after_the_last_game_counts_for_the_next_season(seasons: list[Season], year: int) -> None:
    assert season_of(seasons, after_season(seasons, year)) == year + 1


@pytest.mark.parametrize(("made", "refused"), [(2002, True), (2003, False)])
def test_the_published_example_of_the_recertification_limit(made: int, refused: bool) -> None:
    """NAERA release of 9 Mar 2011: upcoming season 2012, dated 2002 is refused and 2003 accepted (trade, section 1)."""
    seasons = [Season(date(2011, 8, 20), date(2011, 12, 3), 2011), Season(date(2012, 8, 18), date(2012, 12, 1), 2012)]
    reached_in = season_of(seasons, after_season(seasons, made + 9))
    assert (reached_in <= 2012) is refused
