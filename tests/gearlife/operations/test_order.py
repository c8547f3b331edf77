"""Any order of the same recorded facts ends in one state: fail beats pass, and nothing hangs on who came first."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import UUID

import pytest
from django.db import transaction

from fitting.models import Assignment
from fitting.operations.assignments import return_item
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Advice, Anchor, CertificationKind, Evidence, HoldCause, HoldEndsBy
from gearlife.models import Item
from gearlife.operations import certifications, holds, items
from gearlife.operations.settling import settle
from tests.factories import AT, DAY, ClubFactory, ItemFactory, noon, put_on, stamp

pytestmark = pytest.mark.django_db

FINDING, REPORT = uuid7(), uuid7()
# The six facts, each with the moment at which it was so; they are all recorded on DAY, in any order.
SEEN_AT, BACK_AT = AT - timedelta(hours=3), AT - timedelta(hours=2)


def fail(item_id: UUID, by: Stamp) -> None:
    """A full inspection found what may be a crack: the anchors move and a hold opens."""
    rows = Item.objects.locked([item_id])
    items.mark(rows, Anchor.FULL_INSPECTION, {item_id: SEEN_AT}, by)
    wanted = holds.NewHold(
        item_id,
        "shell: crack suspected",
        cause=HoldCause.FINDING,
        origin_id=FINDING,
        ends_by=HoldEndsBy.CRACK_RULE,
        advice=Advice.RETIRE,
    )
    _, entries = holds.open_holds([wanted], by)
    settle([item_id], entries, by)


def look(item_id: UUID, by: Stamp) -> None:
    """A look found nothing, after the crack was found: it lifts nothing."""
    rows = Item.objects.locked([item_id])
    items.mark(rows, Anchor.LOOK, {item_id: SEEN_AT + timedelta(minutes=30)}, by)
    settle([item_id], [], by)


def report(item_id: UUID, by: Stamp) -> None:
    """A coach reported a heavy blow."""
    new = holds.NewHold(item_id, "a heavy blow", cause=HoldCause.DAMAGE_REPORT, origin_id=REPORT)
    holds.hold(new=new, stamp=by)


def date_evidence(item_id: UUID, by: Stamp) -> None:
    """The maker wrote when it was made."""
    changes = {"made_on": PartialDate.parse("2016-05"), "made_on_evidence": Evidence.MAKERS_LETTER}
    items.change(item=Item.objects.get(id=item_id), changes=changes, stamp=by)


def certification(item_id: UUID, by: Stamp) -> None:
    """A firm recertified it in the spring."""
    new = certifications.NewCertification(
        CertificationKind.RECERTIFICATION, certified_on=date(2026, 2, 1), firm="Mendwell", evidence=Evidence.LABEL
    )
    certifications.certify(item=Item.objects.get(id=item_id), new=new, stamp=by)


def give_back(item_id: UUID, by: Stamp) -> None:
    """Its player brought it back."""
    assignment = Assignment.objects.get(item_id=item_id)
    return_item(assignment=assignment, at=BACK_AT, condition="", stamp=by)


FACTS: tuple[Callable[[UUID, Stamp], None], ...] = (fail, look, report, date_evidence, certification, give_back)


def a_worn_helmet() -> Item:
    """A helmet on a player since last week, whose date has proved to be wrong since and is not known."""
    club = ClubFactory.create()
    item = ItemFactory.create(club=club, stamp=stamp(club.organisation, noon(date(2026, 9, 1))))
    put_on(item, at=noon(date(2026, 10, 7)))
    return items.change(item=item, changes={"made_on": None}, stamp=stamp(club.organisation, noon(date(2026, 10, 8))))


def state(item_id: UUID) -> dict[str, object]:
    """Everything that the records say of it on DAY, but ids and the moments of recording."""
    item = Item.objects.with_standing(DAY).get(id=item_id)
    columns = {
        field.attname: getattr(item, field.attname)
        for field in Item._meta.concrete_fields
        if field.attname not in {"id", "version"}
    }
    clocks = item.clocks.order_by("code").values_list("code", "anchor_on", "falls_on", "alert_on", "until", "effect")
    held = item.holds.filter(released_at__isnull=True).order_by("origin_id")
    alerts = item.alerts.filter(closed_at__isnull=True).order_by("key")
    return {
        "columns": columns,
        "standing": item.standing,
        "clocks": list(clocks),
        "holds": list(held.values_list("origin_id", "cause", "reason", "starts_on", "ends_by", "advice")),
        "certifications": list(item.certifications.order_by("counts_from").values_list("kind", "counts_from")),
        "alerts": list(alerts.values_list("key", "stage", "severity", "advice", "falls_on", "because", "player_id")),
    }


def compare_paths(
    item_id: UUID, done: frozenset[int], by: Stamp, states: dict[frozenset[int], dict[str, object]]
) -> int:
    """Record each missing fact upon those done; where two paths meet, the states must be one. How many steps."""
    steps = 0
    for which in range(len(FACTS)):
        if which in done:
            continue
        reached = done | {which}
        with transaction.atomic():
            FACTS[which](item_id, by)
            steps += 1
            if reached in states:
                assert state(item_id) == states[reached], sorted(FACTS[each].__name__ for each in reached)
            else:
                states[reached] = state(item_id)
                steps += compare_paths(item_id, reached, by, states)
            transaction.set_rollback(True)
    return steps


def test_any_order_of_six_recorded_facts_ends_in_one_state() -> None:
    # The 720 orders are the paths through the 64 sets of facts. Where every step into a set ends in one state, whatever
    # was recorded first, every path does: 192 steps instead of 4,320.
    item = a_worn_helmet()
    states: dict[frozenset[int], dict[str, object]] = {}
    steps = compare_paths(item.id, frozenset(), stamp(item.organisation), states)

    assert (len(states), steps) == (63, 192)


def test_the_state_that_they_end_in_is_the_one_that_the_facts_say() -> None:
    item = a_worn_helmet()
    for fact in FACTS:
        fact(item.id, stamp(item.organisation))
    end = state(item.id)

    assert end["standing"] == "stopped"
    assert [(hold.origin_id, hold.cause) for hold in item.holds.order_by("origin_id")] == [
        (FINDING, "finding"),
        (REPORT, "damage_report"),
    ]
    assert set(item.alerts.filter(closed_at__isnull=True).values_list("kind", flat=True)) == {
        "hold",
        "not_inspected_since_back",
        "recertification_limit",
    }


@pytest.mark.parametrize("fact", [fail, report], ids=["finding", "report"])
def test_a_fact_that_arrives_twice_leaves_what_it_left_once(fact: Callable[[UUID, Stamp], None]) -> None:
    item = a_worn_helmet()
    by = stamp(item.organisation)
    fact(item.id, by)
    once = state(item.id)
    fact(item.id, by)

    assert state(item.id) == once


@pytest.mark.parametrize("fact", FACTS, ids=[fact.__name__ for fact in FACTS])
def test_no_fact_lifts_a_hold(fact: Callable[[UUID, Stamp], None]) -> None:
    item = a_worn_helmet()
    by = stamp(item.organisation)
    fail(item.id, by)
    report(item.id, by)
    fact(item.id, by)

    assert item.holds.filter(released_at__isnull=True).count() == 2
