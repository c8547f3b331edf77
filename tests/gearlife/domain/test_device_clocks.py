"""Moments read on a device's clock: put right where it is ahead, believed where it is behind, never lost."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

from hypothesis import given
from hypothesis import strategies as some

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.device_clocks import (
    EARLIEST,
    LEEWAY,
    MOST_SECONDS,
    Moment,
    else_now,
    may_have_been,
    reckoned,
    words,
)
from tests.factories import AT, DAY

MINUTES = some.timedeltas(timedelta(days=-3), timedelta(days=3))
AGO = some.timedeltas(timedelta(0), timedelta(days=30))


def sent(ahead: timedelta = timedelta(0)) -> Stamp:
    return Stamp(Actor(None, uuid4()), AT, DAY, ahead)


@given(ahead=some.timedeltas(LEEWAY + timedelta(seconds=1), timedelta(days=3)), ago=AGO)
def test_a_clock_ahead_is_put_right(ahead: timedelta, ago: timedelta) -> None:
    truth = AT - ago
    assert reckoned(truth + ahead, sent(ahead)) == Moment(truth, truth + ahead, ahead)


@given(ahead=MINUTES, ago=AGO)
def test_nothing_counts_for_later_than_it_was_by_more_than_the_leeway(ahead: timedelta, ago: timedelta) -> None:
    truth = AT - ago
    moment = reckoned(truth + ahead, sent(ahead))
    assert moment.at <= truth + LEEWAY
    assert may_have_been(moment, sent(ahead))


def test_a_clock_behind_is_believed_and_told() -> None:
    behind = timedelta(days=-1)
    assert reckoned(AT + behind, sent(behind)) == Moment(AT + behind, AT + behind, behind)
    assert reckoned(AT + behind, sent(behind)).ahead_seconds == -86_400


def test_a_clock_that_is_right_or_says_nothing_is_not_spoken_of() -> None:
    assert reckoned(None, sent(timedelta(days=1))) == Moment(AT)
    assert reckoned(AT - LEEWAY, sent(LEEWAY)) == Moment(AT - LEEWAY)
    assert Moment(AT).ahead_seconds is None


def test_a_moment_to_come_can_count_as_now_with_what_the_clock_said() -> None:
    day = timedelta(days=1)
    assert not may_have_been(reckoned(AT + day, sent()), sent())
    assert else_now(reckoned(AT + day, sent()), sent()) == Moment(AT, AT + day, day)
    assert else_now(Moment(AT - day), sent()) == Moment(AT - day)


def test_a_moment_before_all_records_can_count_as_now_as_well() -> None:
    long_ago = EARLIEST - timedelta(seconds=1)
    assert else_now(Moment(long_ago), sent()) == Moment(AT, long_ago, long_ago - AT)


@given(given_at=some.datetimes(timezones=some.just(UTC)), shown=some.datetimes(timezones=some.just(UTC)))
def test_no_clock_is_too_absurd_to_reckon_with(given_at: datetime, shown: datetime) -> None:
    moment = else_now(reckoned(given_at, sent(shown - AT)), sent())
    assert may_have_been(moment, sent())
    assert abs(moment.ahead_seconds or 0) <= MOST_SECONDS


def test_the_words_say_what_it_showed_and_how_far_it_was_off() -> None:
    assert words(AT, 86_400) == f"the device's clock said {AT:%Y-%m-%d %H:%M} UTC and was about 24 hours ahead"
    assert words(AT, -660).endswith("11 minutes behind")
