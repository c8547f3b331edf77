"""From what day a certification counts."""

from datetime import date

import pytest

from gearlife.domain.certificates import counts_from
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import LabelYearMeans

S2025 = Season(date(2025, 8, 16), date(2025, 11, 29), 2025)
PLAYOFFS_IN_JANUARY = Season(date(2025, 8, 16), date(2026, 1, 10), 2025)


def counted(means: LabelYearMeans, *seasons: Season) -> date:
    """From when a label of 2026 counts."""
    return counts_from(certified_on=None, label_year=2026, label_year_means=means, seasons=seasons)


def test_a_day_of_certification_is_taken_as_it_is() -> None:
    day = counts_from(
        certified_on=date(2026, 2, 3), label_year=2027, label_year_means=LabelYearMeans.SEASON, seasons=[S2025]
    )

    assert day == date(2026, 2, 3)


def test_the_year_of_the_work_counts_from_its_first_day() -> None:
    assert counted(LabelYearMeans.WORK, S2025) == date(2026, 1, 1)


def test_the_year_of_a_season_counts_from_the_end_of_the_season_before() -> None:
    assert counted(LabelYearMeans.SEASON, S2025) == date(2025, 11, 30)


def test_the_year_of_a_season_counts_from_december_when_no_season_was_entered() -> None:
    # common practice, no source: work for a season begins in the December before it
    assert counted(LabelYearMeans.SEASON) == date(2025, 12, 1)


def test_a_year_of_unknown_meaning_counts_as_the_earlier_end() -> None:
    # the house rule for labels: unknown meaning counts as the earlier end
    assert counted(LabelYearMeans.UNKNOWN, S2025) == date(2025, 11, 30)
    assert counted(LabelYearMeans.UNKNOWN, PLAYOFFS_IN_JANUARY) == date(2026, 1, 1)


def test_neither_day_nor_year_is_refused() -> None:
    with pytest.raises(ValueError, match="needs its day or the year"):
        counts_from(certified_on=None, label_year=None, label_year_means=LabelYearMeans.WORK, seasons=[])
