"""What could replace an item: only what the gate lets out, best first."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Player
from fitting.operations.assignments import NewAssignment, issue
from fitting.queries.replacements import MOST, replacements_for
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Anchor
from gearlife.models import Club, GearModel, Item
from gearlife.operations import holds, items
from tests.factories import AT, DAY, ClubFactory, ItemFactory, ModelFactory, SeasonFactory, pads

pytestmark = pytest.mark.django_db


@pytest.fixture
def other_model(club: Club) -> GearModel:
    return ModelFactory.create(manufacturer__organisation=club.organisation)


def offered(item: Item) -> list[dict[str, Any]]:
    return replacements_for(item, among=Item.objects.all(), day=DAY)


def ids(rows: Iterable[dict[str, Any]]) -> list[Any]:
    return [row["item"] for row in rows]


def test_the_same_model_and_size_comes_first_then_the_same_size_label_then_the_rest(
    item: Item, other_model: GearModel
) -> None:
    rest = ItemFactory.create(club=item.club, model=other_model, size="L")
    same_label = ItemFactory.create(club=item.club, model=other_model, size="m")
    same = ItemFactory.create(club=item.club, model=item.model)

    assert [(row["item"], row["try_on"]) for row in offered(item)] == [
        (same.id, False),
        (same_label.id, True),
        (rest.id, True),
    ]


def test_of_the_rest_the_one_with_most_life_comes_first(item: Item, other_model: GearModel) -> None:
    made = ["2025-09", "2026-05", "2026-01"]
    short, long, middle = (
        ItemFactory.create(club=item.club, model=other_model, size="XL", made_on=month) for month in made
    )

    assert ids(offered(item)) == [long.id, middle.id, short.id]


def test_life_ends_with_the_first_limit_that_would_stop_it(item: Item) -> None:
    ItemFactory.create(club=item.club, model=item.model, made_on="2026-05")

    # The maker of the tests' helmets states 24 months, from the first day of the month of manufacture.
    assert offered(item)[0]["life_ends_on"] == date(2028, 5, 1)


def test_only_what_the_gate_lets_out_is_offered(club: Club, item: Item, player: Player, now: Stamp) -> None:
    out = ItemFactory.create(club=club, model=item.model)
    issue(new=NewAssignment(out.id, player), stamp=now)
    held = ItemFactory.create(club=club, model=item.model)
    holds.hold(new=holds.NewHold(held.id, "Loose rivet."), stamp=now)
    retired = ItemFactory.create(club=club, model=item.model)
    items.retire(item=retired, reason="Old.", on=None, stamp=now)
    ItemFactory.create(club=club, model=item.model, made_on="")
    lapsing = ItemFactory.create(club=club, model=item.model, made_on="2024-11")
    back = ItemFactory.create(club=club, model=item.model)
    items.take_back([back], at=AT)

    assert lapsing.clocks.filter(falls_on=date(2026, 11, 1)).exists()
    assert offered(item) == []


def test_only_the_same_kind_of_the_same_club_is_offered(item: Item) -> None:
    pads(item.club)
    ItemFactory.create(club=ClubFactory.create(organisation=item.organisation), model=item.model)

    assert offered(item) == []


def test_what_was_made_for_one_player_is_never_offered(item: Item) -> None:
    ItemFactory.create(club=item.club, model=item.model, made_for_one_player=True)

    assert offered(item) == []


def test_an_item_whose_size_nobody_recorded_has_no_same_size(item: Item, club: Club) -> None:
    bare = ItemFactory.create(club=club, model=item.model, size="")
    ItemFactory.create(club=club, model=item.model, size="")

    assert [row["try_on"] for row in offered(bare)] == [True, True]


def test_whoever_is_offered_something_reads_that_it_is_looked_over_and_fitted_first(item: Item) -> None:
    ItemFactory.create(club=item.club, model=item.model)

    assert offered(item)[0]["why"].endswith(
        "Look it over now, before it is handed out. It is fitted on the head before it is worn."
    )


def test_what_was_looked_over_today_need_not_be_again(item: Item, now: Stamp) -> None:
    fresh = ItemFactory.create(club=item.club, model=item.model)
    items.mark([fresh], Anchor.LOOK, {fresh.id: AT}, now)

    assert "Look it over" not in offered(item)[0]["why"]


def test_pads_are_offered_without_any_date(club: Club) -> None:
    worn, spare = pads(club), pads(club)
    [row] = offered(worn)

    assert (row["item"], row["life_ends_on"]) == (spare.id, None)
    assert row["why"].endswith("It is fitted on the player before it is worn.")


def test_the_list_is_bounded_and_its_queries_do_not_grow(item: Item) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            offered(item)
        return len(asked)

    ItemFactory.create(club=item.club, model=item.model)
    few = queries()
    for _ in range(MOST + 1):
        ItemFactory.create(club=item.club, model=item.model)

    assert queries() == few
    assert len(offered(item)) == MOST


def test_without_a_season_limits_are_read_for_today(now: Stamp) -> None:
    club = ClubFactory.create(in_season=False)
    item = ItemFactory.create(club=club)
    lapsing = ItemFactory.create(club=club, model=item.model, made_on="2024-11")

    assert ids(offered(item)) == [lapsing.id]
    SeasonFactory.create(club=club)
    assert offered(item) == []
