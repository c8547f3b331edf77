"""Air is recorded: what stops, what makes a check, what is refused, and what comes of it in alerts and fits."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.queries.fits import stale
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Standing
from gearlife.models import Alert, Club, Hold, Item, LedgerEvent
from gearlife.queries.history import history_of
from inspections.domain.air_records import Act, Felt, Measured
from inspections.domain.vocabulary import Grade
from inspections.models import AirOfModel, AirRecord
from inspections.operations.air import NewAirRecord, change_air, record_air, record_all_air, state_air
from tests.factories import AT, DAY, ItemFactory, PlayerFactory, fitted, later, put_on
from tests.inspections.operations.inspecting import standing

pytestmark = pytest.mark.django_db
FOUR = {"cells": ["front", "crown", "left", "right"]}


def air(item: Item, stamp: Stamp, felt: Felt | None = Felt.FIRM, kpa: float | None = None, **more: Any) -> AirRecord:
    measured = Measured(kpa, 20.0, 0.0) if kpa is not None else Measured()
    return record_air(new=NewAirRecord(item, felt=felt, measured=measured, **more), stamp=stamp)


def checked_at(item: Item) -> object:
    return Item.objects.get(id=item.id).last_air_check_at


def open_kinds(item: Item) -> set[str]:
    return set(Alert.objects.open().filter(item=item).values_list("kind", flat=True))


def ranged(item: Item, stamp: Stamp, **more: Any) -> AirOfModel:
    facts = {"lowest_kpa": 10.0, "highest_kpa": 30.0, "stated_in": "owner's booklet, page 4", **more}
    return state_air(model=item.model, facts=facts, stamp=stamp)


def test_one_word_is_enough_and_moves_the_air_check(item: Item, stamp: Stamp) -> None:
    row = air(item, stamp)

    assert (row.cell, row.act, row.felt, row.counts_as) == ("liner", Act.READING, Felt.FIRM, Grade.NOTHING_FOUND)
    assert (row.happened_at, row.recorded_by_id) == (AT, stamp.actor.user_id)
    assert checked_at(item) == AT
    assert standing(item) == Standing.NO_STOP


def test_a_cell_that_will_not_hold_stops_the_item_and_alerts_the_wearers_club_at_once(item: Item, stamp: Stamp) -> None:
    put_on(item)
    row = air(item, stamp, Felt.WONT_HOLD)
    hold = Hold.objects.get(item=item)

    assert (hold.origin_id, hold.starts_on, hold.deferred) == (row.id, DAY, False)
    assert hold.reason == "air, liner: will not hold air (stop)"
    assert standing(item) == Standing.STOPPED
    assert "worn_stopped" in open_kinds(item)


def test_air_that_stays_later_lifts_nothing(item: Item, stamp: Stamp) -> None:
    air(item, stamp, Felt.WONT_HOLD)
    air(item, later(stamp, minutes=9))

    assert standing(item) == Standing.STOPPED


@pytest.mark.parametrize("order", [1, -1])
def test_any_order_of_the_same_records_ends_in_the_same(item: Item, stamp: Stamp, order: int) -> None:
    facts = [(Felt.FIRM, 3), (Felt.WONT_HOLD, 2), (Felt.AIR_ADDED, 1)][::order]
    for felt, days_ago in facts:
        air(item, stamp, felt, happened_at=AT - timedelta(days=days_ago))

    assert standing(item) == Standing.STOPPED
    assert checked_at(item) == AT - timedelta(days=1)


def test_three_cells_of_four_are_no_check_and_the_fourth_makes_it(item: Item, stamp: Stamp) -> None:
    state_air(model=item.model, facts=FOUR, stamp=stamp)
    for number, cell in enumerate(FOUR["cells"]):
        assert checked_at(item) is None
        air(item, stamp, cell=cell, happened_at=AT - timedelta(minutes=9 - number))

    # The check is as old as the cell that was looked after the longest ago.
    assert checked_at(item) == AT - timedelta(minutes=9)


def test_a_moment_to_come_is_refused_but_never_a_cell_that_will_not_hold(item: Item, stamp: Stamp) -> None:
    tomorrow = AT + timedelta(days=1)
    with pytest.raises(InvalidInputError, match="future"):
        air(item, stamp, happened_at=tomorrow)
    row = air(item, stamp, Felt.WONT_HOLD, happened_at=tomorrow)

    assert (row.happened_at, row.device_at, row.clock_ahead_seconds) == (AT, tomorrow, 86400)
    assert standing(item) == Standing.STOPPED
    assert checked_at(item) == AT


@pytest.mark.parametrize(
    ("new", "pointer"),
    [
        ({}, "/felt"),
        ({"felt": Felt.FIRM, "cell": "crown"}, "/cell"),
        ({"act": Act.READING}, "/pressure_kpa"),
        ({"felt": Felt.AIR_ADDED, "act": Act.RELEASED}, "/act"),
        ({"felt": Felt.FIRM, "measured": Measured(strokes=3)}, "/strokes"),
        ({"felt": Felt.FIRM, "measured": Measured(pressure_kpa=201)}, "/pressure_kpa"),
        ({"felt": Felt.FIRM, "measured": Measured(pressure_kpa=float("nan"))}, "/pressure_kpa"),
        ({"felt": Felt.FIRM, "measured": Measured(temperature_c=71)}, "/temperature_c"),
        ({"felt": Felt.FIRM, "measured": Measured(elevation_m=9000)}, "/elevation_m"),
        ({"felt": Felt.FIRM, "measured": Measured(barometric_kpa=1013)}, "/barometric_kpa"),
    ],
)
def test_what_cannot_be_is_refused_at_its_place(item: Item, stamp: Stamp, new: dict[str, Any], pointer: str) -> None:
    with pytest.raises(InvalidInputError) as refused:
        record_air(new=NewAirRecord(item, **new), stamp=stamp)

    assert pointer in [fault.pointer for fault in refused.value.faults]
    assert not AirRecord.objects.exists()


def test_outside_the_makers_range_is_a_repair_and_an_alert_that_moved_air_ends(item: Item, stamp: Stamp) -> None:
    ranged(item, stamp)
    assert air(item, stamp, kpa=9.0).counts_as == Grade.REPAIR
    alert = Alert.objects.open().get(item=item, kind="air_out_of_range")
    assert alert.because == ("Liner: The gauge read under the range that the maker states (owner's booklet, page 4).")
    assert (alert.advice, alert.severity) == ("top_up_air", "act")
    assert standing(item) == Standing.NO_STOP
    air(item, later(stamp, minutes=5), Felt.AIR_ADDED)

    assert "air_out_of_range" not in open_kinds(item)


def test_inside_the_range_and_at_its_ends_nothing_is_said(item: Item, stamp: Stamp) -> None:
    ranged(item, stamp)
    assert {air(item, stamp, kpa=kpa).counts_as for kpa in (10.0, 20.0, 30.0)} == {Grade.NOTHING_FOUND}
    assert "air_out_of_range" not in open_kinds(item)


def test_where_the_range_says_stop_a_reading_outside_of_it_stops(item: Item, stamp: Stamp) -> None:
    ranged(item, stamp, outside_counts_as=Grade.STOP.value)
    air(item, stamp, kpa=41.0)

    assert Hold.objects.get(item=item).reason == "air, liner: outside the range that the maker states (stop)"


@pytest.mark.parametrize(
    ("facts", "pointer"),
    [
        ({"lowest_kpa": 10.0}, "/highest_kpa"),
        ({"lowest_kpa": 30.0, "highest_kpa": 10.0, "stated_in": "x"}, "/lowest_kpa"),
        ({"lowest_kpa": 10.0, "highest_kpa": 30.0}, "/stated_in"),
        ({"outside_counts_as": "scrap"}, "/outside_counts_as"),
        ({"outside_counts_as": "nothing_found"}, "/outside_counts_as"),
        ({"cells": []}, "/cells"),
        ({"cells": ["front", "front"]}, "/cells"),
        ({"cells": ["Front pad"]}, "/cells"),
    ],
)
def test_a_range_has_both_ends_and_a_source(item: Item, stamp: Stamp, facts: dict[str, Any], pointer: str) -> None:
    with pytest.raises(InvalidInputError) as refused:
        state_air(model=item.model, facts=facts, stamp=stamp)
    assert [fault.pointer for fault in refused.value.faults] == [pointer]


def test_a_models_air_is_stated_once_and_changed_after(item: Item, stamp: Stamp) -> None:
    row = ranged(item, stamp)
    with pytest.raises(ConflictError):
        ranged(item, stamp)
    change_air(row=row, facts={"highest_kpa": 40.0}, stamp=stamp)

    assert AirOfModel.objects.get().highest_kpa == 40
    assert LedgerEvent.objects.filter(action="air_stated").count() == 2


def test_history_tells_it_in_words(item: Item, stamp: Stamp) -> None:
    air(item, stamp, Felt.AIR_ADDED, kpa=21.5)
    air(item, later(stamp, minutes=1), Felt.WONT_HOLD)
    words = [row["words"] for row in history_of(item.id, item.organisation_id)]

    assert "Air, liner: air added, the gauge read 21.5 kPa at 20 °C." in words
    assert "Air, liner: will not hold (stop)." in words


def test_a_cell_that_would_not_hold_makes_the_fit_stale_and_a_firm_one_does_not(item: Item, stamp: Stamp) -> None:
    player = PlayerFactory.create(club=item.club)
    put_on(item, player)
    fit = fitted(item, player, at=AT - timedelta(days=9))
    air(item, stamp)
    assert stale([fit]) == {fit.id: []}
    air(item, later(stamp, minutes=1), Felt.WONT_HOLD)

    assert [event.words for event in stale([fit])[fit.id]] == [f"It lost much air on {DAY}."]
    assert "fit_stale" in open_kinds(item)


def test_ten_kilopascals_lost_at_once_make_the_fit_stale(item: Item, stamp: Stamp) -> None:
    player = PlayerFactory.create(club=item.club)
    put_on(item, player)
    fit = fitted(item, player, at=AT - timedelta(days=9))
    air(item, stamp, kpa=30.0, happened_at=AT - timedelta(days=7))
    air(item, stamp, kpa=18.0)

    assert len(stale([fit])[fit.id]) == 1


def weeks(items: list[Item], stamp: Stamp, felt: Felt) -> None:
    for week in range(5):
        at = AT - timedelta(weeks=4 - week)
        record_all_air([NewAirRecord(item, felt=felt, happened_at=at) for item in items], stamp)


def test_one_that_needs_air_every_week_is_suspected_and_the_alert_ends_with_the_weeks(item: Item, stamp: Stamp) -> None:
    others = [ItemFactory.create(club=item.club, model=item.model) for _ in range(8)]
    weeks(others, stamp, Felt.FIRM)
    weeks([item], stamp, Felt.AIR_ADDED)
    alert = Alert.objects.open().get(item=item, kind="air_leak")

    assert alert.because.startswith("A leak is suspected. It needed air on 5 of 5 days")
    assert (alert.advice, alert.effect if hasattr(alert, "effect") else "warn", alert.falls_on) == (
        "top_up_air",
        "warn",
        DAY,
    )
    assert not Alert.objects.filter(kind="air_leak").exclude(item=item).exists()
    assert standing(item) == Standing.NO_STOP


def test_many_are_recorded_in_as_many_queries_as_few(club: Club, item: Item, stamp: Stamp) -> None:
    items = [ItemFactory.create(club=club, model=item.model) for _ in range(12)]

    def queries(some: list[Item], by: Stamp, felt: Felt) -> int:
        with CaptureQueriesContext(connection) as captured:
            record_all_air([NewAirRecord(each, felt=felt) for each in some], by)
        return len(captured)

    for felt in (Felt.FIRM, Felt.WONT_HOLD):
        assert queries(items[:2], stamp, felt) == queries(items[2:], later(stamp, minutes=1), felt)


def test_what_tells_against_an_item_is_taken_from_a_clock_that_is_wrong(item: Item, stamp: Stamp) -> None:
    ranged(item, stamp, outside_counts_as=Grade.STOP)
    tomorrow = AT + timedelta(days=1)
    row = air(item, stamp, None, kpa=2.0, act=Act.READING, happened_at=tomorrow)

    assert (row.happened_at, row.device_at, row.counts_as) == (AT, tomorrow, Grade.STOP)
    assert standing(item) == Standing.STOPPED
    with pytest.raises(InvalidInputError, match="future"):
        air(item, stamp, None, kpa=20.0, act=Act.READING, happened_at=tomorrow)
