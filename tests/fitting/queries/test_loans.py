"""Loans for a day: overdue on the next day of the club's calendar, found by the quick sweep, ended by the return."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fitting.domain.loans import overdue_at, overdue_on
from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, return_item
from gearlife.domain.access import Stamp
from gearlife.models import Alert, Item
from gearlife.operations.sweep import sweep, sweep_for_the_day
from tests.factories import AT, DAY, ZONE, later


def alert_of(item: Item) -> Alert | None:
    return Alert.objects.open().filter(item=item, kind="loan_overdue").first()


def test_the_next_noon_is_the_clubs_also_late_in_the_evening_and_when_the_clocks_change() -> None:
    late = datetime(2026, 10, 15, 3, 30, tzinfo=UTC)  # half past ten in the evening of the 14th in Chicago
    before_winter_time = datetime(2026, 10, 31, 20, tzinfo=UTC)

    assert overdue_on(late, ZONE) == date(2026, 10, 15)
    assert overdue_at(late, ZONE).astimezone(UTC) == datetime(2026, 10, 15, 17, tzinfo=UTC)
    assert overdue_at(before_winter_time, ZONE).astimezone(UTC) == datetime(2026, 11, 1, 18, tzinfo=UTC)


@pytest.fixture
def lent(item: Item, player: Player, now: Stamp) -> Assignment:
    sweep(organisation=item.organisation, at=AT)
    return issue(new=NewAssignment(item.id, player, loan=True), stamp=now)


@pytest.mark.django_db
def test_the_sweep_of_the_next_day_finds_a_loan_that_is_still_out(item: Item, lent: Assignment, now: Stamp) -> None:
    assert alert_of(item) is None
    [run] = sweep_for_the_day(at=AT + timedelta(days=1))
    alert = alert_of(item)

    assert (run.whole, run.complete) == (False, True)
    assert alert
    assert (alert.advice, alert.falls_on) == ("return", DAY + timedelta(days=1))
    assert "noon on 2026-10-15" in alert.because
    return_item(assignment=lent, at=None, condition="", stamp=later(now, days=1, hours=1))
    assert alert_of(item) is None


@pytest.mark.django_db
def test_what_came_back_on_the_day_and_what_is_the_players_own_is_never_overdue(
    item: Item, player: Player, lent: Assignment, now: Stamp
) -> None:
    return_item(assignment=lent, at=None, condition="", stamp=later(now, hours=5))
    Item.objects.filter(id=item.id).update(last_full_inspection_at=now.at + timedelta(hours=6))
    issue(new=NewAssignment(item.id, player), stamp=later(now, hours=7))
    sweep_for_the_day(at=AT + timedelta(days=1))

    assert alert_of(item) is None
