"""What was not there is noted, and nothing else comes of it."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.models import Alert, Clock, Club, Hold, Item, LedgerEvent
from gearlife.queries.history import history_of
from inspections.models import Inspection, NotSeen
from inspections.operations.not_seen import NewNotSeen, note_all_not_seen, note_not_seen
from tests.factories import AT, ItemFactory, PlayerFactory, later, put_on

pytestmark = pytest.mark.django_db


def state(item: Item) -> list[object]:
    """Everything that a look would move."""
    return [
        Item.objects.filter(id=item.id).values().get(),
        list(Clock.objects.filter(item=item).order_by("id").values()),
        list(Alert.objects.filter(item=item).order_by("id").values()),
        (Hold.objects.count(), Inspection.objects.count()),
    ]


def test_it_moves_no_anchor_and_is_no_look(item: Item, stamp: Stamp) -> None:
    put_on(item)
    before = state(item)
    note_not_seen(new=NewNotSeen(item, note="gear at home"), stamp=stamp)

    assert state(item) == before


def test_it_says_who_had_it_by_whom_it_was_noted_and_why(item: Item, stamp: Stamp) -> None:
    player = put_on(item).player
    note_not_seen(new=NewNotSeen(item, note="gear at home"), stamp=stamp)
    row = NotSeen.objects.get()

    assert (row.item, row.player, row.noted_at, row.note) == (item, player, AT, "gear at home")
    assert row.recorded_by_id == stamp.actor.user_id


def test_history_tells_it_and_the_ledger_keeps_ids_alone(item: Item, stamp: Stamp) -> None:
    player = put_on(item).player
    note_not_seen(new=NewNotSeen(item, note=f"{player.family_name} is ill"), stamp=stamp)
    told = history_of(item.id, item.organisation_id)[-1]

    assert told["words"] == "Not there when it was looked for; it stays due."
    assert told["facts"].keys() == {"not_seen", "player", "noted_at"}
    assert player.family_name not in LedgerEvent.objects.latest("seq").text


def test_told_later_it_is_of_whoever_had_it_then(club: Club, item: Item, stamp: Stamp) -> None:
    first, second = (PlayerFactory.create(club=club) for _ in range(2))
    put_on(item, first, at=AT - timedelta(days=9))
    put_on(item, second, at=AT - timedelta(days=2))

    def player_of(days_ago: int) -> object:
        return note_not_seen(new=NewNotSeen(item, AT - timedelta(days=days_ago)), stamp=stamp).player_id

    assert [player_of(5), player_of(1), player_of(20)] == [first.id, second.id, second.id]


def test_what_nobody_has_is_refused_with_the_way_out(item: Item, stamp: Stamp) -> None:
    with pytest.raises(ConflictError, match="mark it missing") as refused:
        note_not_seen(new=NewNotSeen(item), stamp=stamp)
    assert refused.value.code == "nobody_has_it"


def test_a_moment_to_come_is_refused_and_nothing_of_its_batch_is_kept(club: Club, stamp: Stamp) -> None:
    items = [ItemFactory.create(club=club) for _ in range(2)]
    for item in items:
        put_on(item)
    entries = [NewNotSeen(items[0]), NewNotSeen(items[1], AT + timedelta(days=1))]
    with pytest.raises(InvalidInputError):
        note_all_not_seen(entries, stamp)
    assert not NotSeen.objects.exists()


def test_many_are_noted_in_as_many_queries_as_few(club: Club, stamp: Stamp) -> None:
    items = [ItemFactory.create(club=club) for _ in range(12)]
    for item in items:
        put_on(item)

    def queries(some: list[Item], by: Stamp) -> int:
        with CaptureQueriesContext(connection) as captured:
            note_all_not_seen([NewNotSeen(item) for item in some], by)
        return len(captured)

    assert queries(items[:2], stamp) == queries(items[2:], later(stamp, minutes=1))
