"""What a day asks, arranged: both ways of making many items one line, and what is said of them."""

from datetime import date, timedelta
from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.today import (
    Answered,
    Due,
    Gear,
    Matter,
    PutOff,
    Stop,
    cohorts,
    joined,
    rules_of,
    without_rules,
)
from gearlife.domain.vocabulary import Advice, Effect, Kind, Severity

DAY = date(2026, 10, 14)


def stop(number: int = 1, **facts: Any) -> Stop:
    gear = Gear(uuid7(), facts.pop("kind", Kind.HELMET), f"SN-{number}", "", "Dome", "M", facts.pop("club", "OB"))
    usual: dict[str, Any] = {"because": ("a crack",), "since": DAY, "kinds": frozenset({"hold"})}
    named = {"number": number, "player": f"{number} Sedge"}
    return Stop(gear=gear, advice=Advice.REPLACE, **usual | named | facts)


def matter(**facts: Any) -> Matter:
    usual: dict[str, Any] = {
        "club": "OB",
        "gear": Kind.HELMET,
        "falls_on": DAY,
        "count": 1,
        "one": None,
        "kind": "look",
        "advice": Advice.INSPECT,
        "severity": Severity.ACT,
        "because": "A look has been due.",
    }
    return Matter(**usual | facts)


def test_six_stops_of_one_meaning_are_a_cohort_and_five_stand_alone() -> None:
    six = [stop(number) for number in range(6)]
    assert [len(line.stops) for line in cohorts(six)] == [6]
    assert [len(line.stops) for line in cohorts(six[:5])] == [1] * 5


@pytest.mark.parametrize(
    "facts",
    [
        {"because": ("another crack",)},
        {"since": DAY - timedelta(days=1)},
        {"kinds": frozenset({"certification"})},
        {"kind": Kind.SHOULDER_PADS},
        {"club": "MR"},
    ],
)
def test_what_differs_in_meaning_is_no_cohort(facts: dict[str, Any]) -> None:
    lines = cohorts([stop(1), stop(2, **facts)], most_alone=1)
    assert [len(line.stops) for line in lines] == [1, 1]


def test_what_has_waited_longest_stands_first_and_an_unknown_day_before_it() -> None:
    stops = [stop(1), stop(2, since=None), stop(3, since=DAY - timedelta(days=9))]
    assert [line.first.number for line in cohorts(stops)] == [2, 3, 1]


def test_matters_of_one_meaning_are_joined_whatever_their_day_and_words() -> None:
    [one] = joined([matter(count=30), matter(count=7, falls_on=DAY - timedelta(days=3), because="other")])
    assert (one.count, one.falls_on, one.because) == (37, DAY - timedelta(days=3), "")
    assert joined([matter(), matter()])[0].because == "A look has been due."


@pytest.mark.parametrize(
    "facts",
    [
        {"kind": "refit"},
        {"advice": Advice.RETIRE},
        {"severity": Severity.PLAN},
        {"gear": Kind.SHOULDER_PADS},
        {"club": "MR"},
        {"put_off": PutOff(DAY, "later", "anna")},
    ],
)
def test_what_differs_in_meaning_stays_apart(facts: dict[str, Any]) -> None:
    assert len(joined([matter(), matter(**facts)])) == 2


def test_a_day_that_nobody_knows_is_none() -> None:
    assert matter(falls_on=UNKNOWN_DAY).since is None


def test_the_day_of_a_stop_is_said_once() -> None:
    assert stop(because=(f"Held since {DAY}: a crack",)).unsaid_since is None
    assert stop().unsaid_since == DAY


def test_the_number_is_not_said_twice() -> None:
    assert (stop(7).name, stop(7, player="Ida Sedge").name) == ("Sedge", "Ida Sedge")


def test_answers_of_two_calendars_are_one_with_the_sooner_fall() -> None:
    due = [Due("OB", Kind.HELMET, DAY + timedelta(days=days), 1, None, "look", Effect.WARN) for days in (3, 2)]
    both = Answered(stops=[stop(1)], next=due[0], unread=1) + Answered(stops=[stop(2, club="MR")], next=due[1])
    assert (len(both.stops), both.next, both.unread, both.clubs()) == (2, due[1], 1, {"OB", "MR"})


@pytest.mark.parametrize("loud", [{"unread": 1}, {"failed": frozenset({"hold"})}, {"now": [matter()]}])
def test_a_day_with_a_doubt_is_not_quiet(loud: dict[str, Any]) -> None:
    assert Answered().is_quiet
    assert not Answered(**loud).is_quiet


def test_rules_stand_apart_from_the_reasons_that_quote_them() -> None:
    reasons = (
        "It lapsed. Rule certification: 12 months from the last certification (a standard, part 6: a year, mark V). "
        "It was worn. Rule age_limit: 192 months from the day of manufacture (a law, mark P)."
    )
    assert without_rules(reasons) == "It lapsed. It was worn."
    assert rules_of(reasons).startswith("Rule certification: 12 months")
    assert rules_of(reasons).endswith("(a law, mark P).")
    assert (without_rules("Rules are rules."), rules_of("Rules are rules.")) == ("Rules are rules.", "")
