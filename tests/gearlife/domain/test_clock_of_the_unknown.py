"""What has no date of manufacture, and what that stops."""

from datetime import date

from gearlife.domain.clocks import clocks_of
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Effect, Kind
from tests.factories import rule
from tests.gearlife.domain.clock_facts import age_limit, by_code, facts, weekly_look


def test_a_helmet_without_a_date_is_stopped_whatever_the_rules() -> None:
    [clock] = clocks_of(facts(anchors={}), [], [])

    assert (clock.code, clock.rule_id, clock.effect) == ("made_on", None, Effect.STOP)
    assert (clock.falls_on, clock.until) == (UNKNOWN_DAY, LAST_DAY)


def test_a_helmet_with_a_date_has_no_clock_of_the_unknown() -> None:
    assert "made_on" not in by_code(clocks_of(facts(), [rule(), age_limit], []))


def test_pads_without_a_date_run_no_clock_where_no_age_limit_is_set() -> None:
    assert clocks_of(facts(Kind.SHOULDER_PADS, anchors={}), [rule(kind=Kind.HELMET), weekly_look], []) == []


def test_pads_without_a_date_are_stopped_where_an_age_limit_is_set() -> None:
    clock = by_code(clocks_of(facts(Kind.SHOULDER_PADS, anchors={}), [age_limit], []))["made_on"]

    assert (clock.falls_on, clock.effect) == (UNKNOWN_DAY, Effect.STOP)


def test_pads_without_a_date_are_not_stopped_by_a_limit_that_only_warns() -> None:
    warning = rule(code="age_limit", anchor=Anchor.MADE, amount=120, effect=Effect.WARN)

    assert "made_on" not in by_code(clocks_of(facts(Kind.SHOULDER_PADS, anchors={}), [warning], []))


def test_pads_without_a_date_are_barred_from_issue_by_a_limit_that_bars_issue() -> None:
    barring = rule(code="age_limit", anchor=Anchor.MADE, amount=120, effect=Effect.NO_ISSUE)
    clock = by_code(clocks_of(facts(Kind.SHOULDER_PADS, anchors={}), [barring], []))["made_on"]

    assert clock.effect is Effect.NO_ISSUE


def test_pads_without_a_date_are_stopped_no_longer_than_the_age_limit_is_in_force() -> None:
    ended = rule(
        code="age_limit", anchor=Anchor.MADE, amount=120, in_force_from=date(2026, 9, 1), in_force_to=date(2026, 9, 30)
    )
    clock = by_code(clocks_of(facts(Kind.SHOULDER_PADS, anchors={}), [ended], []))["made_on"]

    assert (clock.falls_on, clock.until) == (date(2026, 9, 1), date(2026, 9, 30))


def test_a_limit_counted_from_an_unknown_date_has_always_fallen() -> None:
    [clock] = [clock for clock in clocks_of(facts(anchors={}), [age_limit], []) if clock.rule_id]

    assert (clock.anchor_on, clock.falls_on, clock.alert_on) == (UNKNOWN_DAY, UNKNOWN_DAY, UNKNOWN_DAY)
