"""Several inspections: in one batch, in any order, and at the cost of one."""

from collections.abc import Callable
from datetime import timedelta
from itertools import permutations
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Club, Item
from inspections.models import Inspection
from inspections.operations.inspect import NewFinding, NewInspection, record_inspections
from tests import factories
from tests.factories import AT
from tests.inspections.operations.inspecting import BARE_METAL, CRACK, STRAP_REPLACED, inspect, standing

pytestmark = pytest.mark.django_db


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
