"""Who may ask for what: tokens, sessions, roles, and where a role holds."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, User
from tests.gearlife.api.base_probe import Caller, World, names

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gearlife.api.base_probe")]


@pytest.fixture
def world() -> World:
    return World()


@pytest.mark.parametrize("secret", ["unknown", "", "two words", "ünknown", "\x00"])
def test_a_wrong_token_is_401_with_the_challenge(world: World, secret: str) -> None:
    """RFC 6750, section 3."""
    answer = Caller(secret)("GET", "probes/")

    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Bearer")


def test_an_expired_token_is_401(world: World) -> None:
    late = world.person((Role.OFFICER, world.club, None), lives=timedelta(seconds=-1))

    assert late("GET", "probes/").status_code == 401


def test_a_token_in_the_address_is_never_looked_at(world: World) -> None:
    secret = world.officer.headers["Authorization"].removeprefix("Bearer ")

    assert world.nobody("GET", f"probes/?token={secret}&access_token={secret}").status_code == 401


def test_another_scheme_is_no_token(world: World) -> None:
    assert world.nobody("GET", "probes/", Authorization="Basic eDp5").status_code == 401


def test_a_session_reads_and_needs_the_csrf_token_to_write(world: World) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(User.objects.get(username=world.officer.headers["Authorization"].removeprefix("Bearer ")))
    read = client.get("/api/v1/probes/")
    written = client.post("/api/v1/probes/", world.body(), content_type="application/json")

    assert (read.status_code, names(read.json()["results"])) == (200, ["Herons"])
    assert (written.status_code, written["Content-Type"]) == (403, "application/problem+json")


def test_a_verb_that_no_role_of_the_actor_carries_is_403(world: World) -> None:
    assert world.coach("GET", "probes/").status_code == 200
    assert world.coach("POST", f"probes/{world.team.id}/send-away/", {"reason": "x"}).status_code == 403
    assert world.person()("GET", "probes/").status_code == 403


def test_a_verb_that_the_resource_does_not_name_is_refused_to_everybody(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tests.gearlife.api.base_probe.Teams.allow", {})

    assert world.administrator("GET", "probes/").status_code == 403


def test_what_is_for_people_is_refused_to_a_device(world: World) -> None:
    assert world.device("POST", f"probes/{world.team.id}/say/").status_code == 200
    assert world.device("POST", f"probes/{world.team.id}/send-away/", {"reason": "x"}).status_code == 403


def test_a_role_held_in_one_club_does_not_carry_into_another(world: World) -> None:
    """The coach of a team sees it; being an officer elsewhere gives no right over it."""
    actor = world.officer_here_coach_there
    assert actor("GET", f"probes/{world.far_team.id}/").status_code == 200
    assert actor("PATCH", f"probes/{world.far_team.id}/", {"name": "x"}, If_Match="*").status_code == 403
    assert actor("POST", f"probes/{world.far_team.id}/send-away/", {"reason": "x"}).status_code == 403
    assert actor("POST", "probes/", world.body(club=str(world.far_club.id))).status_code == 403
    assert actor("POST", "probes/", world.body()).status_code == 201


def test_an_administrator_acts_in_every_club_of_the_organisation(world: World) -> None:
    assert world.administrator("POST", f"probes/{world.far_team.id}/send-away/", {"reason": "x"}).status_code == 200


def test_the_day_of_an_act_is_read_on_the_clubs_calendar(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    Club.objects.filter(id=world.club.id).update(timezone="Pacific/Kiritimati")
    Club.objects.filter(id=world.far_club.id).update(timezone="Pacific/Pago_Pago")
    monkeypatch.setattr("gearlife.api.clock.now", lambda: datetime(2026, 9, 14, 10, 30, tzinfo=UTC))
    days = [
        world.administrator("POST", f"probes/{team.id}/say/").json()["day"] for team in (world.team, world.far_team)
    ]
    assert days == ["2026-09-15", "2026-09-13"]


def test_an_answer_belongs_to_one_credential(world: World) -> None:
    answer = world.officer("GET", "probes/")

    assert answer["Cache-Control"] == "private, no-cache"
    assert {"Authorization", "Cookie"} <= set(answer["Vary"].split(", "))
