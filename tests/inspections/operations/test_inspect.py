"""Recording inspections: what each fact leaves behind, in whatever order the facts arrive."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from itertools import permutations
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import HoldCause, Kind, Role
from gearlife.models import Club, Hold, Item, LedgerEvent
from gearlife.operations import items as item_operations
from gearlife.queries.history import history_of
from gearlife.queries.ledger import events_of, first_broken
from inspections.domain.vocabulary import Grade
from inspections.models import Checklist, Finding, Inspection
from inspections.operations.checklists import add_revision
from inspections.operations.inspect import NewFinding, NewInspection, record_inspection, record_inspections
from inspections.queries.checklists import newest_checklists
from tests import factories
from tests.factories import AT, DAY

pytestmark = pytest.mark.django_db

CRACK = NewFinding("shell", "crack", "stop")
BARE_METAL = NewFinding("faceguard", "bare_metal", "repair")
STRAP_REPLACED = NewFinding("chin_strap", "under_four_points", "stop", fixed_here=True, part="strap, new")


@pytest.fixture
def club() -> Club:
    return factories.ClubFactory.create()


@pytest.fixture
def item(club: Club) -> Item:
    return factories.ItemFactory.create(club=club)


@pytest.fixture
def stamp(club: Club) -> Stamp:
    return factories.stamp(factories.officer(club))


def inspect(item: Item, stamp: Stamp, *findings: NewFinding, **facts: Any) -> Inspection:
    return record_inspection(new=NewInspection(item, findings=findings, **facts), stamp=stamp)


def standing(item: Item, day: date = DAY) -> str:
    return str(Item.objects.with_standing(day).values_list("standing", flat=True).get(id=item.id))


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


def test_pads_are_looked_over_by_their_own_checklist(club: Club, stamp: Stamp) -> None:
    inspection = inspect(factories.pads(club), stamp, NewFinding("arch", "crack"))

    assert inspection.checklist.kind == Kind.SHOULDER_PADS
    assert inspection.outcome == Grade.STOP


def test_another_kinds_checklist_is_refused(item: Item, stamp: Stamp) -> None:
    pads = newest_checklists(item.organisation_id)[Kind.SHOULDER_PADS]
    with pytest.raises(InvalidInputError) as refusal:
        inspect(item, stamp, checklist=pads)

    assert refusal.value.faults[0].pointer == "/checklist"


def test_without_a_checklist_the_newest_revision_counts_and_an_older_one_may_be_named(item: Item, stamp: Stamp) -> None:
    first = newest_checklists(item.organisation_id)[Kind.HELMET]
    second = add_revision(kind=Kind.HELMET, points=[*first.points, {"code": "visor", "defects": []}], stamp=stamp)

    assert (first.revision, second.revision) == (1, 2)
    assert inspect(item, stamp, NewFinding("visor", "", "wear")).checklist == second
    with pytest.raises(InvalidInputError):
        inspect(item, stamp, NewFinding("visor", "", "wear"), checklist=first)


def test_a_revision_is_never_changed_by_the_next(item: Item, stamp: Stamp) -> None:
    before = Checklist.objects.values().get(kind=Kind.HELMET)
    add_revision(kind=Kind.HELMET, points=[*before["points"], {"code": "visor", "defects": []}], stamp=stamp)

    assert Checklist.objects.values().get(kind=Kind.HELMET, revision=1) == before


def test_an_organisation_without_a_checklist_is_told_so(item: Item, stamp: Stamp) -> None:
    Checklist.objects.all().delete()
    with pytest.raises(ConflictError) as refusal:
        inspect(item, stamp)

    assert refusal.value.code == "no_checklist"


def test_every_organisation_begins_with_both_default_checklists(club: Club) -> None:
    other = factories.OrganisationFactory.create()
    newest = newest_checklists(other.id)

    assert {kind: checklist.revision for kind, checklist in newest.items()} == {Kind.HELMET: 1, Kind.SHOULDER_PADS: 1}
    assert {checklist.organisation_id for checklist in newest.values()} == {other.id}


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


def test_several_inspections_of_one_item_in_one_batch_leave_what_they_would_leave_one_by_one(
    item: Item, stamp: Stamp
) -> None:
    entries = [
        NewInspection(item, depth="full", inspected_at=AT - timedelta(days=2)),
        NewInspection(item, findings=[CRACK], inspected_at=AT - timedelta(days=3)),
        NewInspection(item, inspected_at=AT - timedelta(days=1)),
    ]
    assert [each.inspected_at for each in record_inspections(entries, stamp)] == [each.inspected_at for each in entries]
    item.refresh_from_db()

    assert item.last_look_at == AT - timedelta(days=1)
    assert item.last_full_inspection_at == AT - timedelta(days=2)
    assert standing(item) == "stopped"


def test_a_bad_entry_leaves_nothing_of_its_batch(club: Club, item: Item, stamp: Stamp) -> None:
    with pytest.raises(InvalidInputError):
        record_inspections([NewInspection(item), NewInspection(item, findings=[NewFinding("visor")])], stamp)

    assert not Inspection.objects.exists()


FACTS: dict[str, Callable[[Item, Stamp], object]] = {
    "pass": lambda item, stamp: inspect(item, stamp, inspected_at=AT - timedelta(days=1), depth="full"),
    "fail": lambda item, stamp: inspect(item, stamp, CRACK, inspected_at=AT - timedelta(days=2)),
    "repair": lambda item, stamp: inspect(item, stamp, BARE_METAL, inspected_at=AT - timedelta(days=9)),
    "fixed here": lambda item, stamp: inspect(item, stamp, STRAP_REPLACED, inspected_at=AT - timedelta(hours=1)),
    "partial": lambda item, stamp: inspect(item, stamp, not_looked_at=["liner"], depth="full"),
}


def test_any_order_of_the_same_facts_ends_in_the_same_state(club: Club, stamp: Stamp) -> None:
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    states = set()
    for order in permutations(FACTS):
        item = factories.ItemFactory.create(club=club, model=model)
        for minute, name in enumerate(order):
            FACTS[name](item, factories.later(stamp, minutes=minute))
        states.add(_state(item))

    assert len(states) == 1
    [(anchors, holds, _, _, stands)] = states
    assert anchors == (AT - timedelta(hours=1), AT - timedelta(days=1))
    assert [reason for reason, *_ in holds] == ["faceguard: bare metal (repair)", "shell: crack (stop)"]
    assert stands == "stopped"


def _state(item: Item) -> tuple[Any, ...]:
    item.refresh_from_db()
    holds = item.holds.order_by("reason").values_list(
        "reason", "starts_on", "deferred", "advice", "ends_by", "released_at"
    )
    clocks = item.clocks.order_by("code").values_list("code", "falls_on")
    alerts = item.alerts.open().order_by("kind").values_list("kind", "severity", "falls_on", "because")
    anchors = (item.last_look_at, item.last_full_inspection_at)
    return anchors, tuple(holds), tuple(clocks), tuple(alerts), standing(item)


def test_the_number_of_queries_does_not_grow_with_the_entries(club: Club, stamp: Stamp) -> None:
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    items = [factories.ItemFactory.create(club=club, model=model) for _ in range(12)]

    def queries(some: list[Item]) -> int:
        with CaptureQueriesContext(connection) as captured:
            record_inspections(
                [NewInspection(each, depth="full", findings=[CRACK, BARE_METAL]) for each in some], stamp
            )
        return len(captured)

    assert queries(items[:2]) == queries(items[2:])


def test_a_device_may_inspect(club: Club, item: Item) -> None:
    inspect(item, factories.stamp(factories.actor(Role.OFFICER, at=club, is_device=True)), CRACK)

    assert standing(item) == "stopped"
