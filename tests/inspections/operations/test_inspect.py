"""Recording inspections: what each fact leaves behind, in whatever order the facts arrive."""

from datetime import date, datetime, timedelta

import pytest

from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import HoldCause, Role
from gearlife.models import Club, Hold, Item, LedgerEvent
from gearlife.operations import items as item_operations
from gearlife.queries.history import history_of
from gearlife.queries.ledger import events_of, first_broken
from inspections.domain.vocabulary import Grade
from inspections.models import Finding, Inspection
from inspections.operations.inspect import NewFinding
from tests import factories
from tests.factories import AT, DAY
from tests.inspections.operations.inspecting import BARE_METAL, CRACK, STRAP_REPLACED, inspect, standing

pytestmark = pytest.mark.django_db


def test_nothing_found_stores_no_finding_and_opens_no_hold(item: Item, stamp: Stamp) -> None:
    inspection = inspect(item, stamp)

    assert inspection.outcome == Grade.NOTHING_FOUND
    assert not Finding.objects.exists()
    assert standing(item) == "no_stop"


def test_a_point_reported_as_nothing_found_is_not_stored(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, NewFinding("liner", "", "nothing_found"))

    assert not Finding.objects.exists()


def test_a_crack_stops_the_item_in_the_same_act(item: Item, stamp: Stamp) -> None:
    inspection = inspect(item, stamp, CRACK)
    hold = Hold.objects.get(item=item)

    assert standing(item) == "stopped"
    assert hold.cause == HoldCause.FINDING
    assert hold.origin_id == inspection.findings.get().id
    assert hold.reason == "shell: crack (stop)"


def test_a_repair_stops_nothing_before_its_day_and_stops_from_it_on(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, NewFinding("faceguard", "bare_metal", "repair", deal_with_by=DAY + timedelta(days=9)))

    assert standing(item, DAY + timedelta(days=8)) == "no_stop"
    assert standing(item, DAY + timedelta(days=9)) == "stopped"


def test_what_was_fixed_here_leaves_history_and_no_hold(item: Item, stamp: Stamp) -> None:
    inspection = inspect(item, stamp, STRAP_REPLACED)
    [finding] = inspection.findings.all()

    assert (finding.fixed_here, finding.part, finding.counts_as) == (True, "strap, new", "stop")
    assert inspection.outcome == Grade.NOTHING_FOUND
    assert standing(item) == "no_stop"


def test_a_crack_said_to_be_fixed_here_is_recorded_and_its_hold_stands(item: Item, stamp: Stamp) -> None:
    inspection = inspect(item, stamp, NewFinding("shell", "crack", "stop", fixed_here=True))

    assert inspection.findings.get().fixed_here
    assert standing(item) == "stopped"


def test_a_later_pass_lifts_nothing(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, CRACK)
    inspect(item, factories.later(stamp, days=1), depth="full")

    assert standing(item, DAY + timedelta(days=1)) == "stopped"


def test_a_failed_inspection_of_a_worn_helmet_is_a_stop_alert_that_names_the_player(item: Item, stamp: Stamp) -> None:
    worn = factories.put_on(item)
    inspect(item, stamp, CRACK)
    alert = item.alerts.open().get(kind="worn_stopped")

    assert (alert.severity, alert.player_id) == ("stop", worn.player_id)


def test_a_look_moves_the_look_and_no_full_inspection(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, depth="look")
    item.refresh_from_db()

    assert (item.last_look_at, item.last_full_inspection_at) == (AT, None)


@pytest.mark.parametrize("findings", [[], [CRACK]], ids=["passed", "failed"])
def test_a_full_inspection_moves_both_anchors_whatever_it_came_to(
    item: Item, stamp: Stamp, findings: list[NewFinding]
) -> None:
    inspect(item, stamp, *findings, depth="full")
    item.refresh_from_db()

    assert (item.last_look_at, item.last_full_inspection_at) == (AT, AT)


def test_a_partial_inspection_moves_no_anchor_and_stops_all_the_same(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, CRACK, depth="full", not_looked_at=["liner"])
    item.refresh_from_db()

    assert (item.last_look_at, item.last_full_inspection_at) == (None, None)
    assert standing(item) == "stopped"


def test_an_older_inspection_that_arrives_late_moves_no_anchor_back(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp)
    inspect(item, stamp, inspected_at=AT - timedelta(days=3))
    item.refresh_from_db()

    assert item.last_look_at == AT


def test_a_clock_a_little_ahead_moves_an_anchor_to_now_and_no_further(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, inspected_at=AT + timedelta(minutes=10))
    item.refresh_from_db()

    assert item.last_look_at == AT


@pytest.mark.parametrize("at", [AT + timedelta(minutes=11), datetime(1, 1, 1, tzinfo=AT.tzinfo)])
def test_a_moment_to_come_or_out_of_all_time_is_refused(item: Item, stamp: Stamp, at: datetime) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        inspect(item, stamp, inspected_at=at)

    assert [fault.pointer for fault in refusal.value.faults] == ["/inspected_at"]
    assert not Inspection.objects.exists()


def test_a_hold_begins_on_the_day_of_the_inspection_on_the_clubs_calendar(item: Item, stamp: Stamp) -> None:
    # 03:00 UTC on the 12th is 22:00 on the 11th in Chicago.
    inspect(item, stamp, CRACK, inspected_at=datetime(2026, 10, 12, 3, tzinfo=AT.tzinfo))

    assert Hold.objects.get().starts_on == date(2026, 10, 11)


def test_unknown_codes_are_refused_and_nothing_is_recorded(item: Item, stamp: Stamp) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        inspect(item, stamp, NewFinding("arch", "crack"))

    assert refusal.value.faults[0].pointer == "/findings/0/point"
    assert not Inspection.objects.exists()


def test_a_retired_item_is_recorded_and_stays_retired_with_nothing_left_open(item: Item, stamp: Stamp) -> None:
    item_operations.retire(item=item, reason="worn out", on=None, stamp=stamp)
    inspect(item, stamp, CRACK)

    assert Inspection.objects.filter(item=item).count() == 1
    assert standing(item) == "retired"
    assert not Hold.objects.open().filter(item=item).exists()


def test_a_missing_item_that_was_seen_is_recorded(item: Item, stamp: Stamp) -> None:
    item_operations.mark_missing(item=item, stamp=stamp)
    inspect(item, stamp, CRACK)

    assert standing(item) == "stopped"


def test_the_ledger_tells_the_inspection_in_codes_and_stays_whole(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, NewFinding("shell", "crack", "wear", note="Dominik dropped it"), BARE_METAL)
    [event] = [event for event in events_of(item.id, item.organisation_id) if event["action"] == "inspected"]
    facts = event["facts"]
    assert isinstance(facts, dict)

    assert facts["findings"] == ["shell: crack (stop)", "faceguard: bare metal (repair)"]
    assert (facts["depth"], facts["outcome"]) == ("look", "stop")
    assert not LedgerEvent.objects.filter(text__contains="Dominik").exists()
    assert first_broken(item.organisation_id) is None


def test_the_items_history_tells_the_inspection_in_words(item: Item, stamp: Stamp) -> None:
    inspect(item, stamp, depth="full")
    inspect(item, stamp, CRACK, STRAP_REPLACED, not_looked_at=["jaw_pads"])

    assert [row["words"] for row in history_of(item.id, item.organisation_id) if row["action"] == "inspected"] == [
        "Inspected in full: nothing found.",
        "Looked over: shell: crack (stop); chin strap: under four points (stop, fixed here); not looked at: jaw pads.",
    ]


def test_a_device_may_inspect(club: Club, item: Item) -> None:
    inspect(item, factories.stamp(factories.actor(Role.OFFICER, at=club, is_device=True)), CRACK)

    assert standing(item) == "stopped"
