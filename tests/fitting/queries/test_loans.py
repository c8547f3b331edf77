"""Loans for a day: overdue at the next noon by the club's clock, asked for at that minute, ended by the return."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis.strategies import datetimes, just, sampled_from

from fitting.domain.loans import is_overdue, overdue_at, overdue_on
from fitting.models import Assignment, Player
from fitting.operations import loans
from fitting.operations.assignments import NewAssignment, issue, return_item
from fitting.operations.loans import ask_for_overdue
from fitting.queries.loans import SHORTEST
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Anchor
from gearlife.models import Alert, Item
from gearlife.operations import items
from gearlife.operations.alerts import Refreshed, refresh_ids
from gearlife.operations.sweep import examine, sweep, sweep_for_the_day
from tests.factories import AT, DAY, ZONE, ClubFactory, ItemFactory, PlayerFactory, later, stamp


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
def test_at_noon_of_the_next_day_a_wake_up_opens_the_alert_and_neither_before_nor_twice(
    item: Item, lent: Assignment, now: Stamp
) -> None:
    noon = overdue_at(lent.issued_at, ZONE)
    [run] = sweep_for_the_day(at=noon - timedelta(hours=1))
    asked = [ask_for_overdue(noon - timedelta(seconds=1)), ask_for_overdue(noon), ask_for_overdue(noon)]
    alert = alert_of(item)

    assert (run.opened, run.complete) == (0, True)
    assert asked == [0, 1, 0]
    assert alert
    assert (alert.advice, alert.falls_on, alert.opened_at) == ("return", DAY + timedelta(days=1), noon)
    assert "by noon on 2026-10-15" in alert.because
    return_item(assignment=lent, at=None, condition="", stamp=later(now, days=1, hours=2))
    assert alert_of(item) is None


@pytest.mark.django_db
def test_an_act_on_the_item_asks_for_it_no_sooner_than_noon(item: Item, lent: Assignment) -> None:
    noon = overdue_at(lent.issued_at, ZONE)
    stamps = [stamp(item.organisation, at=noon + timedelta(minutes=minutes)) for minutes in (-1, 1)]
    found = []
    for each in stamps:
        items.mark([item], Anchor.LOOK, {item.id: each.at}, each)
        refresh_ids([item.id], each)
        found.append(alert_of(item) is not None)

    assert found == [False, True]


@pytest.mark.django_db
def test_the_sweep_of_the_day_after_finds_what_no_wake_up_told(item: Item, lent: Assignment) -> None:
    sweep_for_the_day(at=AT + timedelta(days=1))
    [run] = sweep_for_the_day(at=AT + timedelta(days=2))

    assert (run.whole, run.opened) == (False, 1)
    assert alert_of(item)


@pytest.mark.django_db
def test_each_club_is_asked_at_its_own_noon(item: Item, lent: Assignment, now: Stamp) -> None:
    west = ClubFactory.create(organisation=item.organisation, timezone="America/Los_Angeles")
    other = ItemFactory.create(club=west)
    issue(
        new=NewAssignment(other.id, PlayerFactory.create(club=west), loan=True), stamp=stamp(item.organisation, now.at)
    )
    noon = overdue_at(lent.issued_at, ZONE)

    assert [ask_for_overdue(noon + timedelta(hours=hours)) for hours in (0, 1, 2)] == [1, 0, 1]
    assert alert_of(other)


@pytest.mark.django_db
def test_a_club_that_cannot_be_swept_keeps_no_other_waiting(
    item: Item, lent: Assignment, now: Stamp, monkeypatch: pytest.MonkeyPatch
) -> None:
    west = ClubFactory.create(organisation=item.organisation, timezone="America/Los_Angeles")
    other = ItemFactory.create(club=west)
    issue(
        new=NewAssignment(other.id, PlayerFactory.create(club=west), loan=True), stamp=stamp(item.organisation, now.at)
    )

    def breaking(ids: list[UUID], day: date, at: datetime) -> Refreshed:
        if item.id in ids:
            raise ValueError("no answer")
        return examine(ids, day, at)

    monkeypatch.setattr(loans, "examine", breaking)
    assert ask_for_overdue(AT + timedelta(days=2)) == 1
    assert alert_of(other)


@given(
    lent_at=datetimes(min_value=datetime(2026, 1, 1), max_value=datetime(2027, 12, 31), timezones=just(UTC)),
    zone=sampled_from(["America/Chicago", "Pacific/Auckland", "America/St_Johns", "Pacific/Kiritimati", "UTC"]),
)
def test_a_loan_is_never_overdue_sooner_than_the_query_looks(lent_at: datetime, zone: str) -> None:
    noon = overdue_at(lent_at, zone)

    assert lent_at + SHORTEST <= noon.astimezone(UTC) <= lent_at + timedelta(hours=37)
    assert noon.hour == 12
    assert not is_overdue(lent_at, zone, noon.date(), noon - timedelta(seconds=1))
    assert is_overdue(lent_at, zone, noon.date(), noon)
    # Asked as of a day that is another than the moment's, the whole day counts.
    assert is_overdue(lent_at, zone, noon.date(), lent_at - timedelta(days=9))


@pytest.mark.django_db
def test_what_came_back_on_the_day_and_what_is_the_players_own_is_never_overdue(
    item: Item, player: Player, lent: Assignment, now: Stamp
) -> None:
    return_item(assignment=lent, at=None, condition="", stamp=later(now, hours=5))
    Item.objects.filter(id=item.id).update(last_full_inspection_at=now.at + timedelta(hours=6))
    issue(new=NewAssignment(item.id, player), stamp=later(now, hours=7))
    ask_for_overdue(AT + timedelta(days=2))

    assert alert_of(item) is None
