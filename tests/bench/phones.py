"""`python -m tests.bench.phones`: a club of 600 items on a phone: its copy, what changed, and 500 inspections at once.

Against reading the same items as plain ORM rows into JSON, and against 500 single calls.
"""

import argparse
import gzip
import json
from collections.abc import Mapping
from time import perf_counter
from typing import Any

from tests.bench.harness import Client, in_turns, milliseconds, run, served

SYNC, INSPECTIONS = "/api/v1/sync/changes/", "/api/v1/inspections/"
ITEMS, WORN, BULK = 600, 300, 500


def measure(rounds: int) -> Mapping[str, object]:
    """Time the copy and its changes in turns with plain rows; then the bulk once beside the single calls."""
    from django.core.handlers.wsgi import WSGIHandler

    club, token, items = _club()
    with served(WSGIHandler()) as ask:
        ask.token = token
        whole = _told(ask, SYNC)
        since = json.loads(whole)["next"]
        _sent(ask, INSPECTIONS, {"item": items[0]})
        one = _told(ask, f"{SYNC}?since={since}")
        now = json.loads(one)["next"]
        acts = {
            "plain_rows": lambda: _plain(club),
            "whole": lambda: ask("GET", SYNC),
            "nothing_new": lambda: ask("GET", f"{SYNC}?since={now}"),
            "one_changed": lambda: ask("GET", f"{SYNC}?since={since}"),
        }
        seconds = in_turns(acts, rounds, warm_up=3)
        singly, at_once = _bulk(ask, items)
    return {
        "bench": "phones",
        "items": ITEMS,
        "whole_bytes": len(whole),
        "whole_bytes_packed": len(gzip.compress(whole)),
        "one_changed_bytes": len(one),
        **milliseconds(seconds),
        "times_plain_rows": round(seconds["whole"] / seconds["plain_rows"], 2),
        "inspections": BULK,
        "singly_s": round(singly, 2),
        "at_once_s": round(at_once, 2),
        "times_as_fast_at_once": round(singly / at_once, 1),
    }


def _club() -> tuple[Any, str, list[str]]:
    from gearlife.domain.vocabulary import Role
    from tests import factories

    club = factories.ClubFactory.create()
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    items = [factories.ItemFactory.create(club=club, model=model) for _ in range(ITEMS)]
    for item in items[:WORN]:
        factories.put_on(item)
    return club, factories.token(factories.person(Role.OFFICER, at=club)), [str(item.id) for item in items]


def _plain(club: Any) -> str:
    """The items as any Django project would list them: nothing of holds, limits, wearers or rounds."""
    from gearlife.models import Item

    return json.dumps(list(Item.objects.filter(club=club).values()), default=str)


def _bulk(ask: Client, items: list[str]) -> tuple[float, float]:
    bodies = [{"item": item} for item in items[:BULK]]
    began = perf_counter()
    for body in bodies:
        _sent(ask, INSPECTIONS, body)
    between = perf_counter()
    answer = _sent(ask, f"{INSPECTIONS}bulk/", {"entries": bodies})
    at_once = perf_counter() - between
    if any(result["status"] != 201 for result in json.loads(answer)["results"]):
        raise AssertionError(answer[:500])
    return between - began, at_once


def _told(ask: Client, path: str) -> bytes:
    status, body = ask("GET", path)
    if status != 200:
        raise AssertionError(body)
    return body


def _sent(ask: Client, path: str, body: object) -> bytes:
    status, answer = ask("POST", path, body)
    if status not in {200, 201}:
        raise AssertionError(answer[:500])
    return answer


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    asked = parser.parse_args()
    run(lambda: measure(asked.rounds))
