"""The dead-man's switch over the API: how old the last complete sweep is, and the alarm when it is too old."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.utils.dateparse import parse_datetime

from gearlife.models import Organisation, Sweep
from gearlife.operations.sweep import sweep
from tests.factories import AT, DAY, ItemFactory, OrganisationFactory
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import League

pytestmark = pytest.mark.django_db


def health_after(hours: float) -> Any:
    """The answer so many hours after `AT`."""
    with time_machine.travel(AT + timedelta(hours=hours), tick=False):
        return Caller()("GET", "health/sweep/")


def swept() -> Organisation:
    organisation = OrganisationFactory.create()
    sweep(organisation=organisation, at=AT)
    return organisation


@pytest.mark.parametrize("hours", [0, 1, 25.9, 26])
def test_a_sweep_of_the_last_26_hours_is_well(hours: float) -> None:
    swept()
    answer = health_after(hours)

    assert (answer.status_code, answer.json()["age_hours"]) == (200, hours)
    assert answer.json()["last_complete_sweep_at"] == "2026-10-14T16:00:00Z"


@pytest.mark.parametrize("hours", [26.1, 72, 10_000])
def test_an_older_one_is_an_alarm_that_says_its_age(hours: float) -> None:
    swept()
    answer = health_after(hours)

    assert (answer.status_code, answer["Content-Type"]) == (503, "application/problem+json")
    assert (answer.json()["code"], answer.json()["age_hours"]) == ("unavailable", hours)
    assert answer.json()["last_complete_sweep_at"] == "2026-10-14T16:00:00Z"
    assert f"{hours:.1f} hours ago" in answer.json()["detail"]


def test_never_swept_is_an_alarm_without_an_age() -> None:
    OrganisationFactory.create()
    answer = health_after(0)

    assert (answer.status_code, answer.json()["age_hours"]) == (503, None)
    assert "No sweep of the records was ever complete" in answer.json()["detail"]


def test_a_sweep_that_ended_in_time_to_come_is_a_fault_of_a_clock_and_an_alarm() -> None:
    swept()
    assert health_after(-0.1).status_code == 200
    answer = health_after(-2)

    assert (answer.status_code, answer.json()["age_hours"]) == (503, -2)
    assert "Clock fault" in answer.json()["detail"]


def test_a_sweep_that_skipped_something_does_not_quiet_the_alarm() -> None:
    organisation = swept()
    Sweep.objects.create(
        organisation=organisation, day=AT.date(), started_at=AT, finished_at=AT + timedelta(hours=30), complete=False
    )

    assert health_after(30).status_code == 503


def test_one_organisation_that_was_not_swept_is_enough_for_an_alarm() -> None:
    swept()
    other = swept()
    Sweep.objects.filter(organisation=other).update(finished_at=AT - timedelta(hours=27))

    assert (health_after(0).status_code, health_after(0).json()["age_hours"]) == (503, 27)


def test_an_organisation_without_any_item_is_swept_whole() -> None:
    organisation = OrganisationFactory.create()
    run = sweep(organisation=organisation, at=AT)

    assert (run.items_expected, run.items_examined, run.complete) == (0, 0, True)


# Beside the alerts


@pytest.fixture
def league(mid_season: None) -> League:
    return League()


def test_alerts_say_beside_their_results_that_no_sweep_ever_was(league: League) -> None:
    answer = league.callers["O"]("GET", "alerts/")

    assert answer.json().keys() == {"results", "last_complete_sweep_at", "sweep_age_hours"}
    assert (answer.json()["last_complete_sweep_at"], answer.json()["sweep_age_hours"]) == (None, None)
    assert (answer["Last-Complete-Sweep-At"], answer["Sweep-Age-Hours"]) == ("never", "never")


def test_every_answer_with_alerts_carries_the_age_of_the_own_organisations_sweep(league: League) -> None:
    other = ItemFactory.create().organisation
    sweep(organisation=other, at=AT)
    sweep(organisation=league.organisation, at=AT - timedelta(hours=30), today=DAY)
    [row, *_] = league.callers["O"]("GET", "alerts/").json()["results"]
    one = f"alerts/{row['id']}/"
    answers = [
        league.callers["O"]("GET", "alerts/?severity=stop"),
        league.callers["O"]("GET", one),
        league.callers["O"]("GET", one, If_None_Match=league.callers["O"]("GET", one)["ETag"]),
        league.callers["O"]("POST", f"{one}acknowledge/", {}),
    ]

    assert [answer.status_code for answer in answers] == [200, 200, 304, 200]
    assert {answer["Sweep-Age-Hours"] for answer in answers} == {"30.0"}
    assert {parse_datetime(answer["Last-Complete-Sweep-At"]) for answer in answers} == {AT - timedelta(hours=30)}
    assert answers[0].json()["sweep_age_hours"] == 30.0


def test_a_refusal_says_nothing_of_sweeps(league: League) -> None:
    for answer in (Caller()("GET", "alerts/"), league.callers["D"]("GET", "alerts/")):
        assert answer.status_code in {401, 403}
        assert "Sweep-Age-Hours" not in answer
