"""Issuing in place of another item: one act, done whole or refused whole."""

from datetime import timedelta

import pytest

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, return_item
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Club, Item
from tests.factories import (
    AT,
    ItemFactory,
    PlayerFactory,
    later,
    pads,
)
from tests.fitting.operations.refusals import refusal

pytestmark = pytest.mark.django_db


def test_what_is_replaced_goes_back_to_the_room_in_the_same_act(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    old = issue(new=NewAssignment(item.id, player), stamp=now)
    moment = later(now, hours=1)
    new = issue(new=NewAssignment(ItemFactory.create(club=club).id, player, replaces_id=old.id), stamp=moment)
    old.refresh_from_db()
    item.refresh_from_db()

    assert (old.returned_at, new.replaces_id) == (new.issued_at, old.id)
    assert (item.whereabouts, item.came_back_at) == (Whereabouts.STOCK, moment.at)


def test_a_refused_issue_leaves_the_replaced_item_on_the_player(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    old = issue(new=NewAssignment(item.id, player), stamp=now)
    stopped = ItemFactory.create(club=club, made_on="")
    refusal(NewAssignment(stopped.id, player, replaces_id=old.id), now)
    item.refresh_from_db()

    assert item.whereabouts == Whereabouts.PLAYER


def test_a_loaner_may_replace_the_players_own(club: Club, item: Item, player: Player, now: Stamp) -> None:
    old = issue(new=NewAssignment(item.id, player), stamp=now)
    issue(new=NewAssignment(ItemFactory.create(club=club).id, player, loan=True, replaces_id=old.id), stamp=now)

    assert Assignment.objects.open().filter(player=player).values_list("loan", flat=True).get()


def test_one_that_has_come_back_already_may_still_be_named_as_replaced(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    old = issue(new=NewAssignment(item.id, player), stamp=now)
    return_item(assignment=old, at=None, condition="", stamp=now)
    new = issue(
        new=NewAssignment(ItemFactory.create(club=club).id, player, replaces_id=old.id), stamp=later(now, hours=1)
    )
    old.refresh_from_db()

    assert (new.replaces_id, old.returned_at) == (old.id, AT)


def test_only_the_same_players_assignment_of_the_same_kind_is_replaced(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    other = issue(new=NewAssignment(item.id, PlayerFactory.create(club=club)), stamp=now)
    own_pads = issue(new=NewAssignment(pads(club).id, player), stamp=now)
    helmet = ItemFactory.create(club=club)

    for wrong in (other, own_pads):
        with pytest.raises(InvalidInputError) as refused:
            issue(new=NewAssignment(helmet.id, player, replaces_id=wrong.id), stamp=now)
        assert refused.value.faults[0].pointer == "/replaces"


def test_what_was_handed_out_later_is_not_replaced(club: Club, item: Item, player: Player, now: Stamp) -> None:
    old = issue(new=NewAssignment(item.id, player), stamp=now)
    earlier = NewAssignment(
        ItemFactory.create(club=club).id, player, replaces_id=old.id, issued_at=AT - timedelta(minutes=9)
    )
    with pytest.raises(InvalidInputError, match="handed out later"):
        issue(new=earlier, stamp=now)
