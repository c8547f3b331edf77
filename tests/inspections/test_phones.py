"""Five phones come back from the field, however badly: one final state, that of the same records sent in order."""

import os
import random
from typing import Any

import pytest
import time_machine

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item
from inspections.models import AirRecord, DamageReport, Inspection, NotSeen
from tests.factories import AT, ClubFactory, person, token
from tests.gearlife.api.base_probe import Caller
from tests.inspections.operations.inspecting import standing
from tests.inspections.phones import EVENTS, PHONES, PhoneAtTheField, gear, recorded, sent_anyhow, sent_in_order

pytestmark = pytest.mark.django_db

LONG = bool(os.environ.get("GEARLIFE_LONG"))
SEEDS = range(100 if LONG else 3)


def came_back(seed: int, *, in_order: bool) -> list[tuple[Any, ...]]:
    """A club after all phones have come back, item by item."""
    club = ClubFactory.create()
    items, by = gear(club), officer(club)
    phones = recorded(items, random.Random(seed))
    if in_order:
        sent_in_order(phones, by)
    else:
        sent_anyhow(phones, by, random.Random(f"{seed} sent"))
    assert rows_of(club) == PHONES * EVENTS - unfounded(phones, items)
    return [state(item) for item in items]


def officer(club: Club) -> Caller:
    return Caller(token(person(Role.OFFICER, at=club)))


def rows_of(club: Club) -> int:
    return sum(
        model.objects.filter(item__club=club).count() for model in (Inspection, NotSeen, AirRecord, DamageReport)
    )


def unfounded(phones: list[PhoneAtTheField], items: list[Item]) -> int:
    """Notes that what nobody has was not seen: refused, whoever sends them."""
    events = [event for phone in phones for event in phone.events]
    return sum(event.resource == "not-seen" and event.body["item"] == str(items[0].id) for event in events)


def state(item: Item) -> tuple[Any, ...]:
    """Everything that the records have made of an item."""
    item.refresh_from_db()
    return (
        standing(item),
        item.last_look_at,
        item.last_full_inspection_at,
        sorted(item.holds.values_list("reason", "starts_on", "deferred", "ends_by", "advice")),
        sorted(item.clocks.values_list("code", "falls_on")),
        sorted(item.alerts.open().values_list("kind", "severity", "stage", "falls_on", "because")),
        sorted(item.inspections.values_list("inspected_at", "device_at", "depth", "outcome"), key=str),
        sorted(item.air_records.values_list("happened_at", "device_at", "cell", "act", "counts_as"), key=str),
        sorted(item.damage_reports.values_list("seen_at", "counts_as", "state"), key=str),
        sorted(item.not_seen.values_list("noted_at", "device_at"), key=str),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_whatever_the_order_the_losses_and_the_clocks_the_final_state_is_one(seed: int) -> None:
    with time_machine.travel(AT, tick=False):
        assert came_back(seed, in_order=False) == came_back(seed, in_order=True)


def test_the_answer_lost_after_the_commit_makes_no_second_row(
    monkeypatch: pytest.MonkeyPatch, item: Item, officer: Caller
) -> None:
    """The process dies between the commit and the answer; `tests.faults` kills it in earnest."""

    def dies(*_: object) -> None:
        raise SystemExit

    body, address = {"item": str(item.id)}, f"inspections/{uuid7()}/"
    with monkeypatch.context() as dying:
        dying.setattr("gearlife.api.resources.Resource.show_made", dies)
        with pytest.raises(SystemExit):
            officer("PUT", address, body)
    assert officer("PUT", address, body).status_code == 200
    assert Inspection.objects.count() == 1
