"""`python -m tests.bench.lists`: a list of 50 against a bare WSGI function and an ordinary DRF view, behind one server.

The bare function asks the same two statements by hand, of the driver, and writes the same JSON. `items` has no
hand-written side: its gate, limits and holds are what the product is; its milliseconds stand beside the others'.
"""

import argparse
from collections.abc import Callable, Iterable, Mapping
from typing import Any
from uuid import UUID

from tests.bench.harness import Wsgi, in_turns, milliseconds, run, served

PLAYERS, ITEMS = "/api/v1/players/", "/api/v1/items/"
COLUMNS = ("id", "club", "team", "given_name", "family_name", "jersey_number", "birth_year", "position")


def measure(rounds: int) -> Mapping[str, object]:
    """Time all of them in turns; the ratios are speeds: one is as fast, more is faster."""
    from django.conf import settings
    from django.core.handlers.wsgi import WSGIHandler

    settings.ROOT_URLCONF = "tests.bench.ordinary"
    with served(_beside(WSGIHandler())) as ask:
        ask.token = _world()
        acts: dict[str, Callable[[], tuple[int, bytes]]] = {
            "bare": lambda: ask("GET", "/bare"),
            "ours": lambda: ask("GET", PLAYERS),
            "ordinary": lambda: ask("GET", "/ordinary/players/"),
            "items": lambda: ask("GET", ITEMS),
        }
        _same_answer(acts)
        seconds = in_turns(acts, rounds)
    return {
        "bench": "list of 50",
        **milliseconds(seconds),
        "of_bare": round(seconds["bare"] / seconds["ours"], 2),
        "times_ordinary": round(seconds["ordinary"] / seconds["ours"], 2),
    }


def _beside(ours: Wsgi) -> Wsgi:
    """The bare function and ours behind one server."""
    return lambda environ, start: (bare if environ["PATH_INFO"] == "/bare" else ours)(environ, start)


def bare(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """What a program without any framework would do: two statements, and JSON from the rows."""
    from django.db import connection

    from gearlife.queries.access import token_digest

    mark = "?" if connection.vendor == "sqlite" else "%s"
    connection.ensure_connection()
    cursor = connection.connection.cursor()
    digest = token_digest(environ["HTTP_AUTHORIZATION"].removeprefix("Bearer "))
    cursor.execute(TOKEN.replace("?", mark), (digest,))
    _, organisation, club = cursor.fetchone()
    cursor.execute(ROWS.replace("?", mark), (organisation, club))
    rows = [dict(zip(COLUMNS, (*map(_id, row[:3]), *row[3:]), strict=True)) for row in cursor.fetchall()]
    start_response("200 OK", [("Content-Type", "application/json")])
    return [_json(rows[:50])]


TOKEN = """
SELECT t.user_id, u.organisation_id, m.club_id FROM gearlife_accesstoken t
JOIN gearlife_user u ON u.id = t.user_id JOIN gearlife_membership m ON m.user_id = u.id
WHERE t.digest = ? AND t.expires_at > CURRENT_TIMESTAMP AND t.revoked_at IS NULL AND u.is_active
"""
ROWS = """
SELECT id, club_id, team_id, given_name, family_name, jersey_number, birth_year, position FROM fitting_player
WHERE organisation_id = ? AND club_id = ? ORDER BY family_name, given_name, id LIMIT 51
"""


def _id(value: object) -> UUID | None:
    """The drivers give an id as text, as itself, or as nothing."""
    return UUID(value) if isinstance(value, str) else value  # type: ignore[return-value]


def _json(rows: list[dict[str, Any]]) -> bytes:
    import msgspec

    return msgspec.json.encode({"results": rows})


def _world() -> str:
    """A club with sixty players and sixty helmets, and its officer's token."""
    from django.utils import timezone

    from gearlife.domain.vocabulary import Role
    from tests import factories

    now = timezone.now()
    club = factories.ClubFactory.create()
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    for _ in range(60):
        factories.PlayerFactory.create(club=club)
        factories.ItemFactory.create(club=club, model=model)
    return factories.token(factories.person(Role.OFFICER, at=club), now)


def _same_answer(acts: Mapping[str, Callable[[], tuple[int, bytes]]]) -> None:
    """All three lists have the same players: a bench of something else would prove nothing."""
    import json

    answers = []
    for name in ("bare", "ours", "ordinary"):
        status, body = acts[name]()
        assert status == 200, (name, body)
        answers.append([(row["id"], row["family_name"]) for row in json.loads(body)["results"]])
    assert answers[0] == answers[1] == answers[2]
    assert len(answers[0]) == 50


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    wanted = parser.parse_args().rounds
    run(lambda: measure(wanted))
