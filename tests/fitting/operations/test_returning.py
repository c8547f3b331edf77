"""Taking gear back: idempotent by state, with its condition, at a moment that can have been."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, Return, issue, issue_all, return_all, return_item
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Club, Hold, Item, LedgerEvent
from gearlife.queries.history import history_of
from tests.factories import AT, ItemFactory, PlayerFactory, later

pytestmark = pytest.mark.django_db


@pytest.fixture
def issued(item: Item, player: Player, now: Stamp) -> Assignment:
    return issue(new=NewAssignment(item.id, player), stamp=now)


def test_a_returned_item_is_in_the_room_and_its_condition_noted(issued: Assignment, item: Item, now: Stamp) -> None:
    back = return_item(assignment=issued, at=None, condition="scratched", stamp=later(now, days=1))
    item.refresh_from_db()

    assert (back.returned_at, back.condition_at_return) == (AT + timedelta(days=1), "scratched")
    assert (item.whereabouts, item.came_back_at) == (Whereabouts.STOCK, AT + timedelta(days=1))
    assert back.version == issued.version + 1


def test_the_same_return_again_changes_nothing(issued: Assignment, now: Stamp) -> None:
    return_item(assignment=issued, at=None, condition="scratched", stamp=later(now, days=1))
    events = LedgerEvent.objects.count()
    again = return_item(assignment=issued, at=None, condition="as new", stamp=later(now, days=2))

    assert (again.returned_at, again.condition_at_return) == (AT + timedelta(days=1), "scratched")
    assert LedgerEvent.objects.count() == events


def test_a_return_before_the_issue_is_refused(issued: Assignment, now: Stamp) -> None:
    with pytest.raises(InvalidInputError) as refused:
        return_item(assignment=issued, at=AT - timedelta(seconds=1), condition="", stamp=later(now, days=1))
    assert refused.value.faults[0].pointer == "/returned_at"


def test_a_return_in_the_future_is_refused(issued: Assignment, now: Stamp) -> None:
    with pytest.raises(InvalidInputError):
        return_item(assignment=issued, at=AT + timedelta(minutes=11), condition="", stamp=now)


def test_a_late_record_of_a_return_never_makes_the_item_come_back_earlier(
    issued: Assignment, item: Item, now: Stamp
) -> None:
    Item.objects.filter(id=item.id).update(came_back_at=AT + timedelta(days=3))
    return_item(assignment=issued, at=AT + timedelta(days=1), condition="", stamp=later(now, days=4))
    item.refresh_from_db()

    assert item.came_back_at == AT + timedelta(days=3)


def test_of_many_returns_all_are_taken_or_none(club: Club, now: Stamp) -> None:
    new = [NewAssignment(ItemFactory.create(club=club).id, PlayerFactory.create(club=club)) for _ in range(3)]
    out = issue_all(new, now)
    with pytest.raises(InvalidInputError) as refused:
        return_all([Return(out[0]), Return(out[1], at=AT - timedelta(days=1))], now)

    assert refused.value.faults[0].pointer == "/1/returned_at"
    assert Assignment.objects.open().count() == 3
    assert [each.id for each in return_all(map(Return, out), now)] == [each.id for each in out]
    assert not Assignment.objects.open().exists()


def test_the_number_of_queries_does_not_grow_with_the_returns(club: Club, now: Stamp) -> None:
    def queries(count: int) -> int:
        new = [NewAssignment(ItemFactory.create(club=club).id, PlayerFactory.create(club=club)) for _ in range(count)]
        out = issue_all(new, now)
        with CaptureQueriesContext(connection) as asked:
            return_all(map(Return, out), now)
        return len(asked)

    assert queries(2) == queries(9)


def test_a_part_without_which_nobody_may_wear_it_stops_the_item_in_the_same_act(
    issued: Assignment, item: Item, now: Stamp
) -> None:
    at = later(now, days=1)
    return_item(assignment=issued, at=None, condition="", missing_parts=["bag", "jaw_pad", "jaw_pad"], stamp=at)
    return_item(assignment=issued, at=None, condition="", missing_parts=["liner_part"], stamp=at)
    issued.refresh_from_db()
    [hold] = Hold.objects.open().filter(item=item)

    assert issued.missing_parts == ["jaw_pad", "bag"]
    assert (hold.reason, hold.cause) == ("Came back without: jaw pad.", "finding")
    with pytest.raises(ConflictError) as refused:
        issue(new=NewAssignment(item.id, issued.player), stamp=later(at, hours=1))
    assert "Held since 2026-10-15: Came back without: jaw pad." in {fault.detail for fault in refused.value.faults}
    assert "No longer with the player, without jaw pad, bag." in [
        row["words"] for row in history_of(item.id, item.organisation_id)
    ]


def test_a_part_that_stops_nothing_is_kept_as_a_fact(issued: Assignment, item: Item, now: Stamp) -> None:
    return_item(assignment=issued, at=None, condition="", missing_parts=["bag"], stamp=later(now, days=1))
    issued.refresh_from_db()

    assert issued.missing_parts == ["bag"]
    assert not Hold.objects.filter(item=item).exists()


def test_a_part_that_such_gear_does_not_have_is_refused_and_nothing_comes_back(issued: Assignment, now: Stamp) -> None:
    with pytest.raises(InvalidInputError) as refused:
        return_item(assignment=issued, at=None, condition="", missing_parts=["wheel"], stamp=later(now, days=1))
    issued.refresh_from_db()

    assert (refused.value.code, refused.value.faults[0].pointer) == ("unknown_part", "/missing_parts")
    assert issued.returned_at is None
