"""What is put into gear: what it stops, what it makes of the fit, what it uses, and what its history says."""

from collections.abc import Mapping
from datetime import timedelta
from itertools import permutations
from typing import Any
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.fit_staleness import Cause
from fitting.queries.fits import stale
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import ReleaseBasis
from gearlife.models import Alert, Club, Hold, Item, LedgerEvent
from gearlife.operations.holds import release
from gearlife.queries.history import history_of
from inspections.domain.parts import PartSort
from inspections.models import PadChange, PartStock, StockEntry
from inspections.operations.part_lists import NewPosition, add_position, change_guard, decide_on_unapproved
from inspections.queries.configuration import configuration_rows
from tests.factories import AT, DAY, ItemFactory, PlayerFactory, fitted, later, put_on
from tests.factories import stamp as stamp_of
from tests.inspections.operations.inspecting import standing
from tests.inspections.parts import guard, list_parts, put_in, shelve

pytestmark = pytest.mark.django_db


@pytest.fixture
def helmet(item: Item) -> Item:
    """A helmet whose model's booklet is entered."""
    list_parts(item.model)
    return item


def in_it(item: Item, **more: Any) -> dict[str, str]:
    """The parts by position."""
    return {row["position"]: row["part"] for row in configuration_rows(item, **more) if row["known"]}


def reasons(item: Item) -> list[str]:
    return list(Hold.objects.filter(item=item).order_by("starts_on", "reason").values_list("reason", flat=True))


def pointers(refused: pytest.ExceptionInfo[InvalidInputError]) -> list[str]:
    return [fault.pointer for fault in refused.value.faults]


def test_a_part_of_the_makers_list_goes_in_with_what_the_list_says_of_it(helmet: Item, stamp: Stamp) -> None:
    change = put_in(helmet, "crown", " crown 20", stamp)

    assert (change.thickness_mm, change.approved, change.recorded_by_id) == (20.0, True, stamp.actor.user_id)
    assert standing(helmet) == "no_stop"
    assert reasons(helmet) == []


def test_a_part_that_is_on_no_list_needs_a_reason_and_holds_the_item(helmet: Item, stamp: Stamp) -> None:
    with pytest.raises(InvalidInputError) as refused:
        put_in(helmet, "crown", "Home-made", stamp)
    assert pointers(refused) == ["/reason"]
    assert not PadChange.objects.exists()

    change = put_in(helmet, "crown", "Home-made", stamp, reason="nothing else was there")
    assert not change.approved
    assert standing(helmet) == "stopped"
    assert reasons(helmet) == ["Crown: Home-made is none of the parts that the maker approves for it."]
    assert Alert.objects.open().filter(item=helmet, severity="stop").exists() is False
    assert "nothing else was there" not in LedgerEvent.objects.latest("seq").text


def test_worn_it_is_a_stop_at_once_and_an_officer_ends_it_with_a_reason(helmet: Item, stamp: Stamp) -> None:
    put_on(helmet)
    put_in(helmet, "crown", "Home-made", stamp, reason="nothing else was there")
    assert Alert.objects.open().filter(item=helmet, severity="stop").exists()

    hold = Hold.objects.get(item=helmet)
    release(hold=hold, reason="Crown 20 is in it again", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=stamp)
    assert standing(helmet) == "no_stop"


def test_a_listed_part_in_another_thickness_is_another_part(helmet: Item, stamp: Stamp) -> None:
    with pytest.raises(InvalidInputError) as refused:
        put_in(helmet, "crown", "Crown 20", stamp, thickness_mm=22.0)
    assert pointers(refused) == ["/reason"]
    assert "another size or thickness" in refused.value.detail


def test_what_was_found_in_it_needs_no_reason_and_stops_it_all_the_same(helmet: Item, stamp: Stamp) -> None:
    put_in(helmet, "crown", "Home-made", stamp, as_found=True)
    assert standing(helmet) == "stopped"


def test_a_league_may_decide_that_it_is_only_noted(helmet: Item, stamp: Stamp) -> None:
    decide_on_unapproved(hold_unapproved=False, reason="our own list is not entered", stamp=stamp)
    put_in(helmet, "crown", "Home-made", stamp, reason="nothing else was there")
    assert standing(helmet) == "no_stop"

    decide_on_unapproved(hold_unapproved=True, reason="it is now", stamp=later(stamp, hours=1))
    put_in(helmet, "jaw", "Home-made", later(stamp, hours=2), reason="nothing else was there")
    # What was only noted then is not held by what was decided later.
    assert reasons(helmet) == ["Jaw: Home-made is none of the parts that the maker approves for it."]


def test_left_without_what_the_model_needs_it_is_stopped(helmet: Item, stamp: Stamp) -> None:
    put_in(helmet, "crown", "Crown 20", stamp)
    put_in(helmet, "crown", "", later(stamp, minutes=5))
    assert reasons(helmet) == ["Crown: nothing is in it, and the model needs it."]


@pytest.mark.parametrize(
    ("position", "facts", "pointer"),
    [
        ("brow", {}, "/position"),
        ("crown", {"count": 3}, "/count"),
        ("clip", {"count": 5}, "/count"),
        ("clip", {"thickness_mm": 2.0}, "/thickness_mm"),
        ("crown", {"changed_at": AT + timedelta(days=1)}, "/changed_at"),
    ],
)
def test_what_does_not_go_together_is_refused_where_it_is(
    helmet: Item, stamp: Stamp, position: str, facts: Mapping[str, Any], pointer: str
) -> None:
    with pytest.raises(InvalidInputError) as refused:
        put_in(helmet, position, "Clip" if position == "clip" else "Crown 20", stamp, **facts)
    assert pointers(refused)[0] == pointer


def test_a_model_whose_positions_nobody_entered_says_so(item: Item, stamp: Stamp) -> None:
    with pytest.raises(InvalidInputError, match="No positions of this model are entered yet"):
        put_in(item, "crown", "Crown 20", stamp)


def test_the_configuration_is_that_of_the_day(helmet: Item, stamp: Stamp) -> None:
    put_in(helmet, "crown", "Crown 20", stamp, changed_at=AT - timedelta(days=9))
    put_in(helmet, "crown", "Crown 25", stamp, changed_at=AT - timedelta(days=2))

    assert in_it(helmet, on=DAY - timedelta(days=10)) == {}
    assert in_it(helmet, on=DAY - timedelta(days=9)) == {"crown": "Crown 20"}
    assert in_it(helmet, on=DAY) == in_it(helmet) == {"crown": "Crown 25"}


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_records_that_come_in_any_order_end_alike(helmet: Item, stamp: Stamp, order: tuple[int, ...]) -> None:
    acts = [("crown", "Crown 20", ""), ("crown", "Home-made", "why"), ("crown", "Crown 25", "")]
    for number in order:
        position, part, reason = acts[number]
        put_in(helmet, position, part, stamp, reason=reason, changed_at=AT - timedelta(hours=9 - number))

    assert in_it(helmet) == {"crown": "Crown 25"}
    assert len(reasons(helmet)) == 1


def test_a_guard_that_goes_to_another_helmet_stops_the_one_it_left(club: Club, helmet: Item, stamp: Stamp) -> None:
    other, bars = ItemFactory.create(club=club, model=helmet.model), guard(club)
    put_in(helmet, "guard", "", stamp, faceguard=bars)
    put_in(other, "guard", "", later(stamp, hours=1), faceguard=bars)

    assert (in_it(helmet), in_it(other)) == ({"guard": ""}, {"guard": "Bars 4"})
    assert (standing(helmet), standing(other)) == ("stopped", "no_stop")
    assert history_of(helmet.id, helmet.organisation_id)[-2]["words"] == "Its faceguard G-1 went to another helmet."


def test_that_the_guard_left_is_seen_too_when_the_records_come_the_wrong_way_round(
    club: Club, helmet: Item, stamp: Stamp
) -> None:
    other, bars = ItemFactory.create(club=club, model=helmet.model), guard(club)
    put_in(other, "guard", "", stamp, faceguard=bars)
    put_in(helmet, "guard", "", stamp, faceguard=bars, changed_at=AT - timedelta(hours=1))

    assert (in_it(helmet), in_it(other)) == ({"guard": ""}, {"guard": "Bars 4"})
    assert (standing(helmet), standing(other)) == ("stopped", "no_stop")


def test_a_guard_of_another_club_is_refused(club: Club, helmet: Item, stamp: Stamp) -> None:
    from_elsewhere = guard(club)
    from_elsewhere.club_id = uuid7()
    with pytest.raises(InvalidInputError) as refused:
        put_in(helmet, "crown", "", stamp, faceguard=from_elsewhere)
    assert pointers(refused)[:2] == ["/faceguard", "/faceguard"]


def causes(item: Item) -> list[Cause]:
    """What has made the item's last fit stale."""
    fit = item.fits.select_related("item__club", "measurement").get()
    return [event.cause for event in stale([fit])[fit.id]]


def test_another_thickness_makes_the_fit_stale_and_like_for_like_does_not(helmet: Item, stamp: Stamp) -> None:
    put_in(helmet, "crown", "Crown 20", stamp, as_found=True)
    fitted(helmet, PlayerFactory.create(club=helmet.club))

    put_in(helmet, "crown", "Crown 20", later(stamp, hours=1))
    assert causes(helmet) == []
    put_in(helmet, "crown", "Crown 25", later(stamp, hours=2))
    assert causes(helmet) == [Cause.OTHER_PAD]


def test_whoever_wears_it_is_to_be_fitted_again(helmet: Item, stamp: Stamp) -> None:
    player = PlayerFactory.create(club=helmet.club)
    put_in(helmet, "crown", "Crown 20", stamp, as_found=True)
    fitted(helmet, player)
    put_on(helmet, player)
    put_in(helmet, "crown", "Crown 25", later(stamp, hours=2))
    alert = Alert.objects.open().get(item=helmet, advice="refit", kind="fit_stale")
    assert "A pad of another size or thickness was put in on 2026-10-14." in alert.because


def test_a_change_takes_from_the_clubs_count_and_is_never_refused_for_want_of_any(helmet: Item, stamp: Stamp) -> None:
    shelve(helmet.club, "Crown 20", 1)
    # Nobody counts these.
    put_in(helmet, "jaw", "Jaw 12", later(stamp, hours=1))
    for hours in (1, 2):
        put_in(helmet, "crown", "crown 20", later(stamp, hours=hours))
    put_in(helmet, "crown", "Crown 20", later(stamp, hours=3), as_found=True)

    stock = PartStock.objects.get()
    assert (stock.part, stock.count, stock.count_again) == ("Crown 20", 0, True)
    assert list(StockEntry.objects.filter(act="used").values_list("part_key", "count").order_by("id")) == [
        ("JAW 12", 2),
        ("CROWN 20", 1),
        ("CROWN 20", 1),
    ]


def test_a_clock_that_was_ahead_is_put_right_and_kept(helmet: Item, stamp: Stamp) -> None:
    ahead = Stamp(stamp.actor, stamp.at, stamp.day, timedelta(days=1))
    change = put_in(helmet, "crown", "Crown 20", ahead, changed_at=AT + timedelta(hours=23))

    assert (change.changed_at, change.device_at) == (AT - timedelta(hours=1), AT + timedelta(hours=23))
    assert change.clock_ahead_seconds == 24 * 3600
    assert "was about 24 hours ahead" in history_of(helmet.id, helmet.organisation_id)[-1]["words"]


def test_a_retired_item_keeps_the_truth_and_no_open_hold(helmet: Item, stamp: Stamp) -> None:
    Item.objects.filter(id=helmet.id).update(retired_on=DAY, retired_reason="cracked")
    put_in(helmet, "crown", "", stamp)
    assert not Hold.objects.open().filter(item=helmet).exists()
    assert in_it(helmet) == {"crown": ""}


def test_a_change_asks_as_much_after_thirty_as_after_three(helmet: Item, stamp: Stamp) -> None:
    def asked(number: int) -> int:
        with CaptureQueriesContext(connection) as captured:
            put_in(helmet, "crown", f"Crown {20 + 5 * (number % 2)}", later(stamp, minutes=number))
        return len(captured)

    counts = [asked(number) for number in range(33)]
    assert max(counts[3:]) == counts[3]


def test_another_organisations_changes_are_not_among_an_items(helmet: Item, stamp: Stamp) -> None:
    other = ItemFactory.create()
    list_parts(other.model)
    put_in(other, "crown", "Crown 20", stamp_of(other.organisation))
    put_in(helmet, "crown", "Crown 25", stamp)
    assert [change.item_id for change in PadChange.objects.visible_to(stamp.actor)] == [helmet.id]
    assert isinstance(helmet.id, UUID)


def test_a_discarded_guard_stops_the_helmet_that_it_is_put_on(club: Club, helmet: Item, stamp: Stamp) -> None:
    bars = change_guard(guard=guard(club), changes={"discarded_on": DAY}, stamp=stamp)
    put_in(helmet, "guard", "", stamp, faceguard=bars)

    assert (standing(helmet), reasons(helmet)) == ("stopped", ["Guard: its faceguard G-1 is discarded."])


def test_a_guard_that_is_discarded_stops_the_helmet_that_it_is_on(club: Club, helmet: Item, stamp: Stamp) -> None:
    other, bars = ItemFactory.create(club=club, model=helmet.model), guard(club)
    put_in(other, "guard", "", stamp, faceguard=bars)
    put_in(helmet, "guard", "", later(stamp, hours=1), faceguard=bars)
    for _ in range(2):
        change_guard(guard=bars, changes={"discarded_on": DAY}, stamp=later(stamp, hours=2))

    assert (standing(helmet), reasons(helmet)) == ("stopped", ["Its faceguard G-1 is discarded."])
    assert all("discarded" not in words for words in reasons(other))


def test_a_guard_put_where_it_is_not_listed_leaves_its_place_and_opens_one_hold(
    club: Club, helmet: Item, stamp: Stamp
) -> None:
    add_position(new=NewPosition(helmet.model, "visor", "Visor", PartSort.FACEGUARD), stamp=stamp)
    bars = guard(club)
    put_in(helmet, "guard", "", stamp, faceguard=bars)
    put_in(helmet, "visor", "", later(stamp, hours=1), faceguard=bars, reason="no other")

    [reason] = reasons(helmet)
    assert "Guard: nothing is in it" in reason
    assert "Visor: Bars 4 is none of the parts" in reason
