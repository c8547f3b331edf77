"""Alerts over the API: which are shown, in which order, and what may be done to them."""

from datetime import timedelta
from typing import Any

import pytest

from gearlife.domain.vocabulary import ReleaseBasis, Role
from gearlife.models import Alert, Hold
from gearlife.operations.holds import release
from gearlife.queries.access import actor_of_user
from tests.factories import DAY, ItemFactory, TeamFactory, person, stamp, token
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def league() -> League:
    return League()


def rows(league: League, asked: str = "", letter: str = "O") -> list[Any]:
    found: list[Any] = league.callers[letter]("GET", f"alerts/{asked}").json()["results"]
    return found


def worn(league: League) -> Any:
    [row] = rows(league, "?kind=worn_stopped")
    return row


def test_what_must_come_off_a_player_stands_first_and_names_the_player_by_id(league: League) -> None:
    ItemFactory.create(club=league.club, made_on="")
    first = rows(league)[0]

    assert (first["kind"], first["severity"], first["advice"]) == ("worn_stopped", "stop", "replace")
    assert (first["item"], first["player"]) == (str(league.item.id), str(league.player.id))
    assert (first["team"], first["club"]) == (str(league.team.id), str(league.club.id))
    assert first["because"].startswith("A player has it and must not wear it.")
    order = [("stop", "act", "plan").index(row["severity"]) for row in rows(league)]
    assert order == sorted(order)


def test_a_date_that_nobody_knows_is_null(league: League) -> None:
    item = ItemFactory.create(club=league.club, made_on="")
    [row] = rows(league, f"?item={item.id}")

    assert (row["kind"], row["falls_on"], row["stage"]) == ("made_on_unknown", None, "past")


@pytest.mark.parametrize(
    ("asked", "kinds"),
    [
        ("severity=stop", {"worn_stopped"}),
        ("advice=replace", {"worn_stopped"}),
        ("kind=hold", {"hold"}),
        ("stage=ahead", set()),
        ("open=false", set()),
        ("open=true", {"damage_reported", "hold", "worn_stopped"}),
    ],
)
def test_a_filter_finds_what_it_names(league: League, asked: str, kinds: set[str]) -> None:
    assert {row["kind"] for row in rows(league, f"?item={league.item.id}&{asked}")} == kinds


def test_a_team_and_a_player_find_their_alerts(league: League) -> None:
    ItemFactory.create(club=league.club, made_on="")
    assert {row["item"] for row in rows(league, f"?team={league.team.id}")} == {str(league.item.id)}
    assert {row["kind"] for row in rows(league, f"?player={league.player.id}")} >= {"worn_stopped"}


def test_a_closed_alert_leaves_the_list_and_is_found_by_asking(league: League) -> None:
    before = worn(league)
    now = stamp(actor_of_user(league.users["O"]))
    for held in Hold.objects.open().filter(item=league.item):
        release(hold=held, reason="mended", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=now)

    assert before["id"] not in {row["id"] for row in rows(league)}
    [closed] = [row for row in rows(league, "?open=false") if row["id"] == before["id"]]
    assert closed["closed_at"] == "2026-10-14T16:00:00Z"
    assert league.callers["O"]("GET", f"alerts/{before['id']}/").status_code == 200


def test_to_acknowledge_says_who_was_told_and_leaves_it_open(league: League) -> None:
    address = f"alerts/{worn(league)['id']}/"
    body = {"note": "on the way", "told_whom": "the coach", "told_at": "2026-10-14T10:30:00-05:00"}
    answer = league.callers["O"]("POST", f"{address}acknowledge/", body)
    again = league.callers["A"]("POST", f"{address}acknowledge/", {})

    row = answer.json()
    assert (answer.status_code, row["acknowledged_by"]) == (200, league.users["O"].username)
    assert (row["told_whom"], row["told_at"], row["closed_at"]) == ("the coach", "2026-10-14T15:30:00Z", None)
    assert again.json() == row


def test_an_alert_of_gear_that_must_not_be_worn_cannot_be_put_off(league: League) -> None:
    body = {"until": str(DAY + timedelta(days=3)), "reason": "busy"}
    answer = league.callers["O"]("POST", f"alerts/{worn(league)['id']}/put-off/", body)
    assert (answer.status_code, answer.json()["code"]) == (409, "stop_not_put_off")


def test_another_is_put_off_to_a_day_that_is_to_come_with_a_reason(league: League) -> None:
    item = ItemFactory.create(club=league.club, made_on="")
    address = f"alerts/{Alert.objects.get(item=item).id}/put-off/"
    later, today = str(DAY + timedelta(days=3)), str(DAY)
    put = league.callers["O"]("POST", address, {"until": later, "reason": "asked the maker"})
    past = league.callers["O"]("POST", address, {"until": today, "reason": "x"})
    bare = league.callers["O"]("POST", address, {"until": later})

    assert (put.json()["put_off_until"], put.json()["put_off_reason"]) == (later, "asked the maker")
    assert (past.status_code, pointers(past)) == (400, {"/until"})
    assert (bare.status_code, pointers(bare)) == (400, {"/reason"})


def test_nobody_closes_an_alert_by_hand(league: League) -> None:
    address = f"alerts/{worn(league)['id']}/"
    for method in ("PATCH", "DELETE", "PUT"):
        assert league.callers["A"](method, address, {"closed_at": None}, If_Match="*").status_code == 405


def test_a_coach_sees_the_alerts_of_the_own_team_alone(league: League) -> None:
    other = Caller(token(person(Role.COACH, at=TeamFactory.create(club=league.club))))

    assert {row["item"] for row in rows(league, letter="C")} == {str(league.item.id)}
    assert other("GET", "alerts/").json()["results"] == []
    assert other("GET", f"alerts/{worn(league)['id']}/").status_code == 404
