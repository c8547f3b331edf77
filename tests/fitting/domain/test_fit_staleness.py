"""What makes a fit stale: each cause, and what looks like one and is none."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fitting.domain.fit_staleness import WORDS, Cause, Event, Fitted, Pad, Taken, is_refit, stale_because
from fitting.domain.measuring import TOLERANCE_MM
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind

AT = datetime(2026, 8, 20, 16, tzinfo=UTC)
DAY = date(2026, 8, 20)
HEAD = MeasurementKind.HEAD_CIRCUMFERENCE
FIT = Fitted(Kind.HELMET, AT, DAY)


def event(cause: Cause, days: int) -> Event:
    return Event(cause, DAY + timedelta(days=days), AT + timedelta(days=days))


def taken(value_mm: float, days: int, *, kind: MeasurementKind = HEAD, protocol: str = "brow") -> Taken:
    return Taken(kind, protocol, value_mm, DAY + timedelta(days=days), AT + timedelta(days=days))


@pytest.mark.parametrize("cause", [cause for cause in Cause if cause is not Cause.GROWTH])
def test_what_happened_since_makes_it_stale_and_what_was_before_does_not(cause: Cause) -> None:
    assert stale_because(FIT, [event(cause, 5)], []) == [event(cause, 5)]
    if cause is not Cause.RHYTHM:
        assert stale_because(FIT, [event(cause, -5)], []) == []


def test_what_the_records_knew_already_when_it_was_fitted_says_nothing() -> None:
    known = Event(Cause.HAIRCUT, DAY, AT - timedelta(hours=1))
    learnt = Event(Cause.HAIRCUT, DAY, AT + timedelta(hours=1))

    assert stale_because(FIT, [known], []) == []
    assert stale_because(FIT, [learnt], []) == [learnt]


def test_a_haircut_says_nothing_of_shoulder_pads_and_weight_does() -> None:
    pads = Fitted(Kind.SHOULDER_PADS, AT, DAY)

    assert stale_because(pads, [event(Cause.HAIRCUT, 3)], []) == []
    assert stale_because(pads, [event(Cause.WEIGHT, 3)], []) == [event(Cause.WEIGHT, 3)]


@pytest.mark.parametrize("by", [-1, 1])
def test_growth_is_a_change_by_more_than_the_tolerance_either_way(by: int) -> None:
    tolerance = TOLERANCE_MM[HEAD]
    within = [taken(560, -3), taken(560 + by * tolerance, 40)]
    beyond = [taken(560, -3), taken(560 + by * (tolerance + 0.5), 40)]

    assert stale_because(FIT, [], within) == []
    assert [each.cause for each in stale_because(FIT, [], beyond)] == [Cause.GROWTH]


def test_measurements_of_two_protocols_or_of_another_part_are_not_compared() -> None:
    chest = MeasurementKind.CHEST_CIRCUMFERENCE

    assert stale_because(FIT, [], [taken(560, -3), taken(580, 40, protocol="occiput")]) == []
    assert stale_because(FIT, [], [taken(860, -3, kind=chest), taken(900, 40, kind=chest)]) == []


def test_a_later_measurement_by_another_protocol_hides_no_growth() -> None:
    found = stale_because(FIT, [], [taken(560, -3), taken(570, 30), taken(561, 40, protocol="occiput")])

    assert [each.on for each in found] == [DAY + timedelta(days=30)]


def test_the_measurement_behind_the_fit_is_what_growth_is_counted_from() -> None:
    behind = Fitted(Kind.HELMET, AT, DAY, measured=taken(560, -300))

    assert [each.cause for each in stale_because(behind, [], [taken(568, -3), taken(569, 40)])] == [Cause.GROWTH]
    assert stale_because(FIT, [], [taken(568, -3), taken(569, 40)]) == []


def test_a_pad_put_in_like_for_like_is_no_refit() -> None:
    assert not is_refit(Pad("jaw M", 12.0), Pad("jaw M", 12.0))
    assert is_refit(Pad("jaw M", 12.0), Pad("jaw M", 15.0))
    assert is_refit(Pad("jaw M", 12.0), Pad("jaw L", 12.0))


def test_the_earliest_comes_first_and_no_word_of_it_says_what_was_measured() -> None:
    found = stale_because(FIT, [event(Cause.WEIGHT, 9), event(Cause.AIR_LEAK, 2)], [taken(560, -3), taken(570, 5)])

    assert [each.cause for each in found] == [Cause.AIR_LEAK, Cause.GROWTH, Cause.WEIGHT]
    assert not any("570" in each.words or "560" in each.words for each in found)
    assert {*WORDS} == {*Cause}
