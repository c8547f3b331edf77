"""Who has what, and what the history says of it."""

from collections.abc import Callable

import pytest

from fitting.models import Player
from fitting.operations.assignments import NewAssignment, issue, record_worn, return_item
from gearlife.domain.access import Stamp
from gearlife.models import Alert, Club, Item
from gearlife.operations import holds
from gearlife.queries.history import history_of
from gearlife.queries.holders import holders_of
from tests.factories import ItemFactory, PlayerFactory

pytestmark = pytest.mark.django_db
Queries = Callable[[int], object]


def test_a_holder_is_called_by_jersey_number_and_family_name(club: Club, now: Stamp, item: Item) -> None:
    player = PlayerFactory.create(club=club, family_name="Reed", jersey_number=0)
    issue(new=NewAssignment(item.id, player), stamp=now)

    assert holders_of([item.id])[item.id].label == "0 Reed"


def test_a_holder_without_a_number_is_called_by_both_names(club: Club, now: Stamp, item: Item) -> None:
    player = PlayerFactory.create(club=club, given_name="Ida", family_name="Reed")
    issue(new=NewAssignment(item.id, player), stamp=now)

    assert (holders_of([item.id])[item.id].label, holders_of([item.id])[item.id].player_id) == ("Ida Reed", player.id)


def test_who_gave_it_back_holds_it_no_longer(item: Item, player: Player, now: Stamp) -> None:
    made = issue(new=NewAssignment(item.id, player), stamp=now)
    return_item(assignment=made, at=None, condition="", stamp=now)

    assert item.id not in holders_of([item.id])


def test_all_holders_are_found_in_one_query(club: Club, now: Stamp, django_assert_num_queries: Queries) -> None:
    out = [ItemFactory.create(club=club) for _ in range(3)]
    for each in out:
        issue(new=NewAssignment(each.id, PlayerFactory.create(club=club)), stamp=now)

    with django_assert_num_queries(1):  # type: ignore[attr-defined] # the fixture gives a context
        assert len(holders_of([each.id for each in out])) == 3


def test_a_stop_of_worn_gear_names_who_wears_it(item: Item, player: Player, now: Stamp) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    holds.hold(new=holds.NewHold(item.id, "Shell crack?"), stamp=now)

    assert Alert.objects.open().get(kind="worn_stopped").player_id == player.id


def test_the_history_tells_assignments_in_words(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=club, made_on="")
    made = record_worn(new=NewAssignment(item.id, player), stamp=now)
    return_item(assignment=made, at=None, condition="scratched", stamp=now)

    assert [event["words"] for event in history_of(item.id, item.organisation_id)][1:] == [
        "Recorded as worn by a player already, and it could not have been issued (made on unknown).",
        "No longer with the player; condition: scratched.",
    ]
