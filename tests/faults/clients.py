"""Clients that write under ids of their own, retry what they cannot know, and note each act's outcome."""

import json
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from threading import Event, Thread
from time import monotonic, sleep
from typing import Any, Self
from urllib.parse import urlsplit
from uuid import UUID

from gearlife.domain.ids import uuid7

REQUEST_SECONDS = 30.0
# How long a client goes on retrying once no more acts are begun.
PATIENCE_SECONDS = 60.0
PAUSE_SECONDS = 0.03
FEWEST_ACTS = 20  # fewer would show nothing


@dataclass
class Act:
    """One write; `outcome` is ok, refused, or unknown for as long as nobody has answered."""

    kind: str
    path: str
    body: dict[str, Any]
    id: UUID = field(default_factory=uuid7)
    outcome: str = "unknown"
    attempts: int = 0
    statuses: list[int] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


@dataclass
class World:
    """What clients write about; `token` may inspect, hold and issue."""

    token: str
    worn: list[str]
    stock: list[str]
    players: list[str]

    def act(self, chance: random.Random) -> Act:
        """An inspection (one in six finds a crack), a hold or an issue."""
        draw = chance.random()
        if draw < 0.7:
            crack = [{"point": "shell", "defect": "crack", "grade": "stop"}] if draw < 0.12 else []
            return Act("inspection", "inspections/", {"item": chance.choice(self.worn), "findings": crack})
        if draw < 0.85:
            item = chance.choice(self.worn + self.stock)
            # Holds are idempotent by state: the same reason of the same item is the same hold.
            act = Act("hold", f"items/{item}/hold/", {})
            act.body["reason"] = f"looked odd {act.id}"
            return act
        return Act(
            "assignment", "assignments/", {"player": chance.choice(self.players), "item": chance.choice(self.stock)}
        )


class Load:
    """Some clients at once, while the block runs; at its end each goes on until its last act is answered."""

    def __init__(self, world: World, address: str, seed: int, clients: int = 3) -> None:
        """Start nothing yet."""
        self.address = address
        self.acts: list[Act] = []
        self._world = world
        self._stopping = Event()
        self._gave_up_at = 0.0
        self._threads = [
            Thread(target=self._write, args=(random.Random(f"{seed} client {number}"),), daemon=True)
            for number in range(clients)
        ]

    def __enter__(self) -> Self:
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        for _again in self.until(FEWEST_ACTS):
            sleep(PAUSE_SECONDS)
        self._gave_up_at = monotonic() + PATIENCE_SECONDS
        self._stopping.set()
        for thread in self._threads:
            thread.join(PATIENCE_SECONDS + REQUEST_SECONDS)

    def until(self, acts: int) -> Iterator[None]:
        """Once and again until so many acts were begun: how fast the machine is decides no test."""
        end = monotonic() + PATIENCE_SECONDS
        while len(self.acts) < acts and monotonic() < end:
            yield

    def statuses(self) -> set[int]:
        """Every status that any attempt was answered with."""
        return {status for act in self.acts for status in act.statuses}

    def seconds(self) -> list[float]:
        """How long each attempt took, shortest first."""
        return sorted(second for act in self.acts for second in act.seconds)

    def ids(self, kind: str, outcome: str) -> set[str]:
        """The ids of the acts of a kind that ended so."""
        return {str(act.id) for act in self.acts if (act.kind, act.outcome) == (kind, outcome)}

    def _write(self, chance: random.Random) -> None:
        while not self._stopping.is_set():
            act = self._world.act(chance)
            self.acts.append(act)
            while act.outcome == "unknown" and not (self._stopping.is_set() and monotonic() > self._gave_up_at):
                self._attempt(act)
                sleep(PAUSE_SECONDS)

    def _attempt(self, act: Act) -> None:
        act.attempts += 1
        began = monotonic()
        try:
            status = self._send(act)
        except (OSError, HTTPException):
            sleep(0.1)
            return
        act.seconds.append(monotonic() - began)
        act.statuses.append(status)
        if status < 500:
            act.outcome = "ok" if status < 300 else "refused"

    def _send(self, act: Act) -> int:
        connection = HTTPConnection(urlsplit(self.address).netloc, timeout=REQUEST_SECONDS)
        headers = {
            "Authorization": f"Bearer {self._world.token}",
            "Content-Type": "application/json",
            "Idempotency-Key": str(act.id),
        }
        try:
            connection.request("POST", f"/api/v1/{act.path}", json.dumps(act.body), headers)
            answer = connection.getresponse()
            answer.read()
            return answer.status
        finally:
            connection.close()
