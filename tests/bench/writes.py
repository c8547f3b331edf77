"""`python -m tests.bench.writes`: recording one inspection, with everything that it does, behind one server.

Against the same statements asked by hand, and against an ordinary DRF view that does the same by plain ORM.
"""

import argparse
import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tests.bench.harness import Client, Wsgi, in_turns, milliseconds, run, served

INSPECTIONS = "/api/v1/inspections/"


def measure(rounds: int) -> Mapping[str, object]:
    """Time all of them in turns; the ratios are speeds: one is as fast, more is faster."""
    from django.conf import settings
    from django.core.handlers.wsgi import WSGIHandler

    settings.ROOT_URLCONF = "tests.bench.ordinary"
    ours = WSGIHandler()
    # A world for each: the ledger of the one that is replayed must have grown by the replays alone.
    replayed, world, third = _world(), _world(), _world()
    replay, statements = _replay(ours, *replayed)
    with served(_beside(ours, replay)) as ask:
        acts = {
            "by_hand": _posting(ask, "/by-hand", *replayed),
            "ours": _posting(ask, INSPECTIONS, *world),
            "ordinary": _posting(ask, "/ordinary/inspections/", *third),
        }
        seconds = in_turns(acts, rounds)
    return {
        "bench": "one inspection",
        "statements": statements,
        **milliseconds(seconds),
        "of_by_hand": round(seconds["by_hand"] / seconds["ours"], 2),
        "times_ordinary": round(seconds["ordinary"] / seconds["ours"], 2),
    }


def _replay(ours: Wsgi, token: str, item: Any) -> tuple[Callable[[Any], None], int]:
    """What our own request asks of the database, to be asked again by hand."""
    from uuid import UUID

    from gearlife.models import Item, LedgerHead
    from tests.bench.replay import Replay, captured

    answers: list[bytes] = []
    with served(ours) as warm:
        _posting(warm, INSPECTIONS, token, item)()  # what only a first request asks is not counted
    asked = captured(lambda: answers.append(_in_process(token, item)))
    made = UUID(json.loads(answers[0])["id"])
    organisation = Item.objects.get(id=item).organisation_id
    return Replay(asked, made, LedgerHead.objects.get(organisation=organisation).size), len(asked)


def _posting(client: Client, path: str, token: str, item: Any) -> Callable[[], None]:
    """Record one inspection in which nothing was found."""

    def post() -> None:
        client.token = token
        status, answer = client("POST", path, {"item": str(item), "findings": []})
        assert status == 201, (path, answer)

    return post


def _in_process(token: str, item: Any) -> bytes:
    """One request on this thread, whose statements can be listened to."""
    from django.test import Client as InProcess

    headers = {"Authorization": f"Bearer {token}", "Host": "localhost"}
    body = {"item": str(item), "findings": []}
    answer = InProcess(headers=headers).post(INSPECTIONS, json.dumps(body), content_type="application/json")
    assert answer.status_code == 201, answer.content
    return bytes(answer.content)


def _beside(ours: Wsgi, replay: Callable[[Any], None]) -> Wsgi:
    """The hand-written side and ours behind one server."""
    from gearlife.domain.ids import uuid7

    def by_hand(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        sent = json.loads(environ["wsgi.input"].read())
        made = uuid7()
        replay(made)
        start_response("201 Created", [("Content-Type", "application/json")])
        return [json.dumps({"id": str(made), **sent}).encode()]

    return lambda environ, start: (by_hand if environ["PATH_INFO"] == "/by-hand" else ours)(environ, start)


def _world() -> tuple[str, Any]:
    """A club, its officer's token, and a helmet on a player."""
    from django.utils import timezone

    from gearlife.domain.vocabulary import Role
    from tests import factories

    now = timezone.now()
    club = factories.ClubFactory.create()
    officer = factories.person(Role.OFFICER, at=club)
    item = factories.ItemFactory.create(club=club)
    factories.put_on(item, at=now)
    return factories.token(officer, now), item.id


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=150)
    wanted = parser.parse_args().rounds
    run(lambda: measure(wanted))
