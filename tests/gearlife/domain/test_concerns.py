"""Hits: their keys, their stages, and how those about one subject become one."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from gearlife.domain.concerns import Hit, one_per_subject, sentences
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Advice, Effect, Severity, Stage
from tests.factories import DAY

ITEM, PLAYER, CLUB = uuid7(), uuid7(), uuid7()
HIT = Hit("hold", Effect.STOP, Advice.INSPECT, Severity.ACT, CLUB, DAY, "A reason.", item_id=ITEM, player_id=PLAYER)


def test_a_key_names_the_item_before_the_player_before_the_club() -> None:
    assert HIT.key == f"hold:{ITEM}"
    assert replace(HIT, item_id=None).key == f"hold:{PLAYER}"
    assert replace(HIT, item_id=None, player_id=None).key == f"hold:{CLUB}"


@pytest.mark.parametrize(("effect", "bars"), [(Effect.STOP, True), (Effect.NO_ISSUE, True), (Effect.WARN, False)])
def test_a_stop_bars_issue_and_a_warning_does_not(effect: Effect, bars: bool) -> None:
    assert replace(HIT, effect=effect).bars_issue == bars


@pytest.mark.parametrize(("days", "stage"), [(-1, Stage.PAST), (0, Stage.DUE), (1, Stage.AHEAD)])
def test_a_hit_is_ahead_then_due_then_past(days: int, stage: Stage) -> None:
    assert replace(HIT, falls_on=DAY + timedelta(days=days)).stage(DAY) is stage


def test_hits_about_one_item_become_one_with_every_reason_the_earliest_first() -> None:
    later = replace(HIT, falls_on=date(2026, 11, 1), because="A later one.", advice=Advice.RETIRE)
    [joined] = one_per_subject([later, HIT])

    assert (joined.falls_on, joined.advice, joined.because) == (DAY, Advice.INSPECT, "A reason. A later one.")


def test_two_reasons_that_were_typed_without_a_stop_stay_two_sentences() -> None:
    first, second = replace(HIT, because="Held: shell: crack (stop)"), replace(HIT, because="Held: visor loose")
    [joined] = one_per_subject([first, second])

    assert joined.because == "Held: shell: crack (stop). Held: visor loose"
    assert sentences(joined.because) == {first.because, second.because}


def test_a_warning_that_fell_earlier_never_hides_a_stop() -> None:
    warning = replace(HIT, effect=Effect.WARN, severity=Severity.PLAN, falls_on=date(2020, 1, 1))
    [joined] = one_per_subject([HIT, warning])

    assert joined.bars_issue
    assert (joined.effect, joined.severity) == (Effect.STOP, Severity.ACT)


def test_hits_about_two_items_stay_two() -> None:
    assert len(one_per_subject([HIT, replace(HIT, item_id=uuid7())])) == 2
