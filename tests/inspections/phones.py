"""Phones that were at the field without signal: what each has recorded, and how badly it may come in.

Each phone has a clock of its own, up to a day off, and tells it by `Device-Time` with whatever it sends. A record goes
alone or in a bulk with others, in any order, may be cut off on its way, may lose its answer, and is then sent again.
"""

import json
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from uuid import UUID

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Liner
from gearlife.models import Club, Item
from tests.factories import AT, ItemFactory, ModelFactory, pads, put_on
from tests.gearlife.api.base_probe import Caller

PHONES, EVENTS, DAYS = 5, 40, 6
FAULTS = (
    {"point": "shell", "defect": "crack"},
    {"point": "faceguard", "grade": "wear"},
    {"point": "faceguard", "defect": "bare_metal", "grade": "repair"},
    {"point": "chin_strap", "defect": "under_four_points", "grade": "stop", "fixed_here": True, "part": "strap, new"},
)
Row = dict[str, Any]
Draw = random.Random


@dataclass(frozen=True)
class Event:
    """One record of one phone: where it goes, under which id, what it says, and when it truly was, in minutes ago."""

    resource: str
    id: UUID
    body: Row
    minutes_ago: int


@dataclass
class PhoneAtTheField:
    """A phone with its clock, so many minutes ahead, and what it has recorded."""

    ahead: timedelta
    events: list[Event] = field(default_factory=list)

    def headers(self) -> dict[str, str]:
        """What its clock shows while it sends."""
        return {"Device_Time": (AT + self.ahead).isoformat()}


def gear(club: Club) -> list[Item]:
    """Four helmets and two pad sets, five of them worn for a month."""
    model = ModelFactory.create(manufacturer__organisation=club.organisation, liner=Liner.AIR)
    items = [ItemFactory.create(club=club, model=model) for _ in range(4)] + [pads(club), pads(club)]
    for item in items[1:]:
        put_on(item, at=AT - timedelta(days=30))
    return items


def recorded(items: Sequence[Item], draw: Draw) -> list[PhoneAtTheField]:
    """Five phones with forty records each, no two of one minute; the clocks are right, or up to a day off."""
    clocks = [0, *(draw.choice((-1440, -300, 20, 300, 1440)) for _ in range(PHONES - 1))]
    phones = [PhoneAtTheField(timedelta(minutes=minutes)) for minutes in clocks]
    moments = iter(draw.sample(range(1, DAYS * 24 * 60), PHONES * EVENTS))
    for phone in phones:
        for minutes_ago in sorted((next(moments) for _ in range(EVENTS)), reverse=True):
            at = AT - timedelta(minutes=minutes_ago) + phone.ahead
            phone.events.append(_event(draw.choice(items), at.isoformat(), minutes_ago, draw))
    return phones


def _event(item: Item, at: str, minutes_ago: int, draw: Draw) -> Event:
    resource, make = draw.choices(RECORDS, WEIGHTS)[0]
    if resource == "air-records" and item.kind != "helmet":  # there is no air in pads
        resource, make = RECORDS[0]
    return Event(resource, uuid7(), {"item": str(item.id), **make(item, at, draw)}, minutes_ago)


def _pass(_item: Item, at: str, draw: Draw) -> Row:
    return {"inspected_at": at, "depth": draw.choice(("look", "look", "full"))}


def _partial(_item: Item, at: str, _draw: Draw) -> Row:
    return {"inspected_at": at, "depth": "full", "not_looked_at": ["labels"]}


def _fault(item: Item, at: str, draw: Draw) -> Row:
    faults = FAULTS if item.kind == "helmet" else ({"point": "straps_belts", "grade": "wear"},)
    return {"inspected_at": at, "findings": [draw.choices(faults, range(1, len(faults) + 1))[0]]}


def _air(_item: Item, at: str, draw: Draw) -> Row:
    felt = draw.choices(("firm", "air_added", "wont_hold"), (12, 5, 1))[0]
    return {"happened_at": at, "felt": felt}


def _gauge(_item: Item, at: str, draw: Draw) -> Row:
    act = draw.choice(("reading", "added", "released"))
    return {
        "happened_at": at,
        "act": act,
        "pressure_kpa": draw.randrange(10, 30),
        "temperature_c": 20,
        "elevation_m": 0,
    }


def _damage(_item: Item, at: str, draw: Draw) -> Row:
    severity = draw.choice(("minor", "unsure", "dangerous"))
    return {"seen_at": at, "severity": severity, "description": "a mark at the side"}


def _not_seen(_item: Item, at: str, _draw: Draw) -> Row:
    return {"noted_at": at}


RECORDS: tuple[tuple[str, Callable[[Item, str, Draw], Row]], ...] = (
    ("inspections", _pass),
    ("inspections", _partial),
    ("inspections", _fault),
    ("not-seen", _not_seen),
    ("air-records", _air),
    ("air-records", _gauge),
    ("damage-reports", _damage),
)
WEIGHTS = (12, 2, 3, 3, 6, 2, 1)
BULK = frozenset({"inspections", "air-records", "damage-reports"})


def sent_in_order(phones: Sequence[PhoneAtTheField], by: Caller) -> None:
    """Each record once, alone, as it happened."""
    told = [(event.minutes_ago, phone, event) for phone in phones for event in phone.events]
    for _, phone, event in sorted(told, key=lambda each: -each[0]):
        assert _put(event, phone, by) in {201, 409}


def sent_anyhow(phones: Sequence[PhoneAtTheField], by: Caller, draw: Draw) -> None:
    """In any order, in portions, some of them twice, cut off, or with the answer lost; until all has been answered."""
    waiting = [(phone, event) for phone in phones for event in phone.events]
    draw.shuffle(waiting)
    while waiting:
        size = draw.choice((1, 1, 3, 8, 20))
        portion, waiting = waiting[:size], waiting[size:]
        for sent, phone in _together(portion):
            if draw.random() < 0.15:
                _cut_off(sent[0], phone, by)
            _send(sent, phone, by)
            if draw.random() < 0.2:  # its answer was lost
                waiting += [(phone, event) for event in sent]


def _together(portion: list[tuple[PhoneAtTheField, Event]]) -> Iterator[tuple[list[Event], PhoneAtTheField]]:
    """What one phone sends in one request."""
    for phone in {id(phone): phone for phone, _ in portion}.values():
        own = [event for by, event in portion if by is phone]
        for resource in sorted({event.resource for event in own}):
            yield [event for event in own if event.resource == resource], phone


def _send(events: list[Event], phone: PhoneAtTheField, by: Caller) -> None:
    if len(events) > 1 and events[0].resource in BULK:
        entries = [{"id": str(event.id), **event.body} for event in events]
        answer = by("POST", f"{events[0].resource}/bulk/", {"entries": entries}, **phone.headers())
        assert {result["status"] for result in answer.json()["results"]} <= {200, 201}, answer.json()
        return
    for event in events:
        assert _put(event, phone, by) in {200, 201, 409}


def _put(event: Event, phone: PhoneAtTheField, by: Caller) -> int:
    return int(by("PUT", f"{event.resource}/{event.id}/", event.body, **phone.headers()).status_code)


def _cut_off(event: Event, phone: PhoneAtTheField, by: Caller) -> None:
    """Half of a body arrives."""
    half = json.dumps(event.body)[: len(json.dumps(event.body)) // 2]
    assert by("PUT", f"{event.resource}/{event.id}/", half, **phone.headers()).status_code == 400
