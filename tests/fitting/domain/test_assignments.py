"""Moments of acts: as given, now where none is given, and never in the future."""

from datetime import timedelta

import pytest

from fitting.domain.assignments import recorded_moment
from gearlife.domain.errors import InvalidInputError
from tests.factories import AT


def test_an_act_without_a_moment_is_done_now() -> None:
    assert recorded_moment(None, AT, "/issued_at") == AT


def test_a_past_moment_is_kept() -> None:
    assert recorded_moment(AT - timedelta(days=40), AT, "/issued_at") == AT - timedelta(days=40)


def test_a_clock_that_is_ten_minutes_ahead_counts_as_now() -> None:
    assert recorded_moment(AT + timedelta(minutes=10), AT, "/issued_at") == AT


def test_a_clock_that_is_further_ahead_is_refused_at_its_place() -> None:
    with pytest.raises(InvalidInputError) as refused:
        recorded_moment(AT + timedelta(minutes=10, seconds=1), AT, "/3/issued_at")
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("/3/issued_at", "in_the_future")]
