"""Standing: asked of the database, never kept."""

from datetime import date, timedelta

import pytest

from gearlife.domain.vocabulary import Standing
from gearlife.models import Item
from gearlife.operations import holds, items
from gearlife.queries.recorded import read
from tests.factories import DAY, LAST_GAME, ClubFactory, ItemFactory, add_rule, pads, put_on, stamp

pytestmark = pytest.mark.django_db


def standing(item: Item, day: date = DAY) -> Standing:
    """What the database says of the item on a day; whoever has read the records says the same."""
    asked = Standing(Item.objects.with_standing(day).values_list("standing", flat=True).get(id=item.id))
    about = read([item.id], day)
    assert about.standing(about.items[item.id], day) is asked
    return asked


def held(item: Item, starts_on: date = DAY) -> Item:
    """The same, held from a day."""
    holds.hold(new=holds.NewHold(item.id, "A reason.", starts_on=starts_on), stamp=stamp(item.organisation))
    return item


def test_an_item_without_hold_or_fallen_clock_has_no_recorded_reason_to_stop() -> None:
    assert standing(ItemFactory.create()) is Standing.NO_STOP


def test_a_hold_stops_from_the_day_it_starts() -> None:
    item = held(ItemFactory.create(), date(2026, 11, 1))

    assert standing(item, date(2026, 10, 31)) is Standing.NO_STOP
    assert standing(item, date(2026, 11, 1)) is Standing.STOPPED


def test_a_stop_clock_stops_from_the_day_it_falls() -> None:
    item = ItemFactory.create(made_on="2024-11-01")

    assert standing(item, date(2026, 10, 31)) is Standing.NO_STOP
    assert standing(item, date(2026, 11, 1)) is Standing.STOPPED


def test_a_clock_that_only_warns_or_bars_issue_stops_nothing() -> None:
    # taken in on DAY: the full inspection has been due for a month, and the certification runs on
    item = ItemFactory.create(made_on="2026-10-01")

    assert standing(item, date(2027, 11, 14)) is Standing.NO_STOP


def test_an_unknown_date_stops_a_helmet() -> None:
    assert standing(ItemFactory.create(made_on="")) is Standing.STOPPED


def test_an_unknown_date_does_not_stop_pads() -> None:
    assert standing(pads(ClubFactory.create())) is Standing.NO_STOP


def test_an_unknown_date_stops_pads_where_an_age_limit_is_set() -> None:
    item = pads(ClubFactory.create())
    add_rule(item.organisation)

    assert standing(item) is Standing.STOPPED


def test_a_rule_no_longer_in_force_stops_nothing() -> None:
    item = pads(ClubFactory.create(), made_on="2010")
    add_rule(item.organisation, in_force_to=date(2026, 10, 31))

    assert standing(item, date(2026, 10, 31)) is Standing.STOPPED
    assert standing(item, date(2026, 11, 1)) is Standing.NO_STOP


def test_a_rule_that_runs_in_season_only_rests_out_of_season() -> None:
    item = pads(ClubFactory.create())
    add_rule(
        item.organisation, code="look", anchor="last_look", counts="days", amount=7, in_season_only=True, effect="stop"
    )

    assert standing(item, LAST_GAME) is Standing.STOPPED
    assert standing(item, LAST_GAME + timedelta(days=1)) is Standing.NO_STOP


def test_retired_wins_over_stopped() -> None:
    item = ItemFactory.create(made_on="")
    items.retire(item=item, reason="Old.", on=None, stamp=stamp(item.organisation))

    assert standing(item) is Standing.RETIRED


def test_standing_and_whereabouts_are_two_facts() -> None:
    item = held(ItemFactory.create())
    put_on(item)

    assert (item.whereabouts, standing(item)) == ("player", Standing.STOPPED)


def test_worn_but_stopped_is_a_question_to_the_rows() -> None:
    stopped, other, in_the_room = ItemFactory.create(), ItemFactory.create(), held(ItemFactory.create())
    put_on(held(stopped))
    put_on(other)

    assert list(Item.objects.worn_but_stopped(DAY)) == [stopped]
    assert in_the_room not in Item.objects.worn_but_stopped(DAY)
