"""A round of the check: its days come from the rules, and in season it opens when the look's clock falls."""

from datetime import date, timedelta
from typing import Any

import pytest

from gearlife.domain.clocks import Facts, Rule, clocks_of
from gearlife.domain.ids import uuid7
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Kind, Whereabouts
from inspections.domain.rounds import Progress, progress_of, rhythm_of
from tests.factories import DAY, LAST_GAME, SEASON_BEGINS, ZONE, noon, rule

MODEL = uuid7()
SEASON = Season(SEASON_BEGINS, LAST_GAME, 2026)


def look(amount: int = 7, **values: Any) -> Rule:
    usual: dict[str, Any] = {"code": "weekly_look", "anchor": Anchor.LOOK, "counts": Counts.DAYS}
    worn = frozenset({Whereabouts.PLAYER})
    return rule(**usual | {"amount": amount, "effect": Effect.WARN, "whereabouts": worn} | values)


def begins(*rules: Rule, kind: Kind = Kind.HELMET) -> date:
    return rhythm_of(rules, DAY).begins_on(kind, MODEL, DAY)


@pytest.mark.parametrize("amount", [1, 3, 7, 10])
@pytest.mark.parametrize("comparator", list(Comparator))
def test_in_season_an_item_is_open_again_on_the_day_its_clock_falls(amount: int, comparator: Comparator) -> None:
    """Against `domain.clocks`, which reckons the fall in its own way: forward from the look."""
    weekly = look(amount, comparator=comparator, in_season_only=True)
    for days_ago in range(15):
        looked_on = DAY - timedelta(days=days_ago)
        facts = Facts(Kind.HELMET, MODEL, Whereabouts.PLAYER, date(2026, 1, 1), {Anchor.LOOK: looked_on})
        [clock] = [each for each in clocks_of(facts, [weekly], [SEASON]) if each.code == "weekly_look"]
        told = progress_of(noon(looked_on), None, begins(weekly), ZONE)
        assert (told is Progress.NOT_YET) == (clock.falls_on <= DAY), days_ago


def test_a_round_of_one_day_is_today() -> None:
    assert begins(look(1)) == DAY


def test_of_several_rules_the_shortest_counts() -> None:
    assert begins(look(7), look(3, code="before_games")) == DAY - timedelta(days=2)


def test_a_models_own_rule_wins_over_the_one_for_all() -> None:
    rules = look(7), look(14, model_id=MODEL)

    assert begins(*rules) == DAY - timedelta(days=13)
    assert rhythm_of(rules, DAY).begins_on(Kind.HELMET, uuid7(), DAY) == DAY - timedelta(days=6)


def test_a_rule_of_one_kind_leaves_the_other_its_own() -> None:
    rules = look(7), look(5, kind=Kind.HELMET)

    assert begins(*rules) == DAY - timedelta(days=4)
    assert begins(*rules, kind=Kind.SHOULDER_PADS) == DAY - timedelta(days=6)


@pytest.mark.parametrize(
    "other",
    [
        look(2, in_force_from=DAY + timedelta(days=1)),
        look(2, in_force_to=DAY - timedelta(days=1)),
        look(2, whereabouts=frozenset({Whereabouts.STOCK})),
        look(2, anchor=Anchor.FULL_INSPECTION),
        look(2, counts=Counts.MONTHS),
    ],
    ids=["not yet in force", "ended", "for stock", "full inspections", "months"],
)
def test_without_a_rule_for_looks_a_round_is_a_week_that_nobody_asks_for(other: Rule) -> None:
    rhythm = rhythm_of([other], DAY)

    assert rhythm.begins_on(Kind.HELMET, MODEL, DAY) == DAY - timedelta(days=6)
    assert not rhythm.asked(in_season=True)


def test_a_rule_of_the_season_asks_for_nothing_out_of_it() -> None:
    rhythm = rhythm_of([look(in_season_only=True)], DAY)

    assert (rhythm.asked(in_season=True), rhythm.asked(in_season=False)) == (True, False)


def test_the_round_begins_on_the_clubs_own_calendar() -> None:
    """Half past eleven at night in Chicago is the next day by UTC."""
    late = noon(DAY - timedelta(days=7)).replace(hour=23, minute=30) + timedelta(hours=5)

    assert progress_of(late, None, DAY - timedelta(days=6), ZONE) is Progress.NOT_YET
    assert progress_of(late, None, DAY - timedelta(days=6), "UTC") is Progress.LOOKED_OVER


def test_a_look_in_the_round_counts_more_than_a_note_after_it() -> None:
    assert progress_of(noon(DAY), noon(DAY), DAY, ZONE) is Progress.LOOKED_OVER


def test_a_note_of_an_earlier_round_is_over() -> None:
    week = DAY - timedelta(days=6)

    assert progress_of(None, noon(week), week, ZONE) is Progress.NOT_SEEN
    assert progress_of(None, noon(week - timedelta(days=1)), week, ZONE) is Progress.NOT_YET
