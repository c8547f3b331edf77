"""Two officers at once, on both databases: one succeeds, the others are told why."""

from collections import Counter
from collections.abc import Callable
from functools import partial

import pytest

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, Return, issue, issue_all, record_worn, return_all
from gearlife.domain.access import Stamp
from gearlife.models import Club, Item
from gearlife.operations import holds
from gearlife.queries.ledger import first_broken
from tests.at_once import told_at_once
from tests.factories import ClubFactory, ItemFactory, PlayerFactory, later, officer, stamp

pytestmark = pytest.mark.django_db(transaction=True)
MANY = 6


def act_of(item: Item, player: Player, now: Stamp) -> Callable[[], object]:
    return lambda: issue(new=NewAssignment(item.id, player), stamp=now)


@pytest.fixture
def club() -> Club:
    return ClubFactory.create()


@pytest.fixture
def now(club: Club) -> Stamp:
    return stamp(officer(club))


def players(club: Club, count: int = MANY) -> list[Player]:
    return [PlayerFactory.create(club=club) for _ in range(count)]


def test_of_officers_who_issue_the_same_item_exactly_one_succeeds(club: Club, now: Stamp) -> None:
    for _ in range(3):
        item = ItemFactory.create(club=club)
        told = told_at_once(*(act_of(item, player, now) for player in players(club)))

        assert Counter(told) == {"done": 1, "already_out": MANY - 1}
        assert Assignment.objects.open().filter(item=item).count() == 1


def test_of_officers_who_give_one_player_different_helmets_exactly_one_succeeds(club: Club, now: Stamp) -> None:
    for _ in range(3):
        [player] = players(club, 1)
        told = told_at_once(*(act_of(ItemFactory.create(club=club), player, now) for _ in range(MANY)))

        assert Counter(told) == {"done": 1, "player_has_one": MANY - 1}
        assert Assignment.objects.open().filter(player=player).count() == 1
    assert first_broken(club.organisation_id) is None


def test_lists_that_name_the_same_players_in_another_order_do_not_wait_for_ever(club: Club, now: Stamp) -> None:
    for _ in range(3):
        named = players(club)
        lists = [
            [NewAssignment(ItemFactory.create(club=club).id, player) for player in order]
            for order in (named, named[::-1])
        ]
        told = told_at_once(*(partial(issue_all, new, now) for new in lists))

        assert sorted(told) == ["done", "player_has_one"]


def test_an_item_that_is_held_at_the_same_moment_is_not_issued_after_it(club: Club, now: Stamp) -> None:
    for _ in range(3):
        item = ItemFactory.create(club=club)
        [player] = players(club, 1)
        told = told_at_once(
            act_of(item, player, now),
            partial(holds.hold, new=holds.NewHold(item.id, "Shell crack?"), stamp=now),
        )

        assert told in (["done", "done"], ["not_issuable", "done"])
        # Issued first and held then, the player is on the list of those who must not wear it.
        worn = Item.objects.worn_but_stopped(now.day).filter(id=item.id).exists()
        assert worn == (told[0] == "done")


def test_of_facts_about_one_item_the_last_one_stands(club: Club, now: Stamp) -> None:
    item = ItemFactory.create(club=club)
    told = told_at_once(
        *(lambda player=player: record_worn(new=NewAssignment(item.id, player), stamp=now) for player in players(club))
    )

    assert Counter(told) == {"done": MANY}
    assert Assignment.objects.filter(item=item).count() == MANY
    assert Assignment.objects.open().filter(item=item).count() == 1
    assert first_broken(club.organisation_id) is None


def test_facts_about_one_player_are_never_refused(club: Club, now: Stamp) -> None:
    [player] = players(club, 1)
    worn = [ItemFactory.create(club=club) for _ in range(3)]
    told = told_at_once(
        *(lambda item=item: record_worn(new=NewAssignment(item.id, player), stamp=now) for item in worn)
    )

    assert Counter(told) == {"done": 3}
    assert Assignment.objects.open().filter(player=player).count() == 1


def test_a_return_that_many_send_is_taken_once(club: Club, now: Stamp) -> None:
    [player] = players(club, 1)
    out = issue(new=NewAssignment(ItemFactory.create(club=club).id, player), stamp=now)
    told = told_at_once(
        *(lambda n=n: return_all([Return(out, condition=str(n))], later(now, hours=n)) for n in range(1, MANY))
    )
    out.refresh_from_db()

    assert set(told) == {"done"}
    assert out.version == 2
