"""Clocks in words and figures, against dateutil."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.explaining import explain, quantity, span
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Counts

days = st.dates(date(1990, 1, 1), date(2090, 12, 31))


def _words(count: int, unit: str) -> str:
    return f"{count} {unit}" if count == 1 else f"{count} {unit}s"


@given(one=days, other=days)
def test_a_span_is_said_as_dateutil_counts_it(one: date, other: date) -> None:
    start, end = sorted([one, other])
    theirs = relativedelta(end, start)
    parts = [(theirs.years, "year"), (theirs.months, "month"), (theirs.days, "day")]

    assert span(start, end) == (" ".join(_words(count, unit) for count, unit in parts if count) or "none")


def test_a_span_that_does_not_reach_forward_is_none() -> None:
    assert span(date(2026, 10, 14), date(2026, 10, 13)) == "none"


@pytest.mark.parametrize(
    ("amount", "counts", "words"),
    [
        (12, Counts.MONTHS, "12 months"),
        (1, Counts.MONTHS, "1 month"),
        (1, Counts.SEASON_YEARS, "1 season year"),
        (10, Counts.SEASON_YEARS, "10 season years"),
        (7, Counts.DAYS, "7 days"),
    ],
)
def test_an_amount_is_said_with_its_unit(amount: int, counts: Counts, words: str) -> None:
    assert quantity(amount, counts) == words


def test_a_running_clock_says_limit_used_and_remaining() -> None:
    said = explain(
        counts=Counts.MONTHS,
        amount=24,
        anchor=Anchor.CERTIFIED,
        anchor_on=date(2026, 3, 1),
        falls_on=date(2028, 3, 1),
        day=date(2026, 10, 14),
    )

    assert said.limit == "24 months from the last certification"
    assert (said.used, said.remaining) == ("7 months 13 days", "1 year 4 months 16 days")
    assert said.remaining_days == (date(2028, 3, 1) - date(2026, 10, 14)).days


@pytest.mark.parametrize(("day", "left"), [(date(2026, 3, 1), 0), (date(2026, 3, 11), -10)])
def test_a_fallen_clock_has_nothing_remaining(day: date, left: int) -> None:
    said = explain(
        counts=Counts.MONTHS,
        amount=24,
        anchor=Anchor.MADE,
        anchor_on=date(2024, 3, 1),
        falls_on=date(2026, 3, 1),
        day=day,
    )

    assert (said.remaining, said.remaining_days) == ("none", left)


@pytest.mark.parametrize("falls_on", [UNKNOWN_DAY, date(2026, 9, 1)])
def test_a_clock_from_an_unknown_day_says_so_and_no_figure(falls_on: date) -> None:
    said = explain(
        counts=Counts.MONTHS,
        amount=192,
        anchor=Anchor.MADE,
        anchor_on=UNKNOWN_DAY,
        falls_on=falls_on,
        day=date(2026, 10, 14),
    )

    assert said.limit == "192 months from the day of manufacture, which is not known"
    assert (said.used, said.remaining, said.remaining_days) == (None, None, None)
