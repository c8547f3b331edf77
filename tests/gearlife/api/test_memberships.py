"""Roles and tokens over the API."""

from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.models import AccessToken, Membership, User
from tests.factories import ClubFactory, TeamFactory
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def league() -> League:
    return League()


def give(league: League, **facts: Any) -> Any:
    body = {"username": "rowan", "role": "officer", "club": str(league.club.id)} | facts
    return league.callers["A"]("POST", "memberships/", body)


def test_a_role_for_a_new_name_makes_the_account(league: League) -> None:
    answer = give(league)

    row = answer.json()
    assert (answer.status_code, row["username"], row["role"], row["is_device"]) == (201, "rowan", "officer", False)
    assert row["club"] == str(league.club.id)
    assert not User.objects.get(username="rowan").has_usable_password()


def test_an_address_is_entered_with_a_role_or_later_and_every_role_shows_it(league: League) -> None:
    first = give(league, email="rowan@herons.example").json()
    second = give(league, role="damage_reporter").json()
    assert (first["email"], second["email"]) == ("rowan@herons.example",) * 2

    address, other = (f"memberships/{row['id']}/" for row in (first, second))
    old_tag = league.callers["A"]("GET", other)["ETag"]
    changed = league.callers["A"]("PATCH", address, {"email": "new@herons.example"}, If_Match="*")
    shown = league.callers["A"]("GET", other, If_None_Match=old_tag)

    assert (changed.status_code, changed.json()["email"]) == (200, "new@herons.example")
    assert (shown.status_code, shown.json()["email"]) == (200, "new@herons.example")


def test_an_address_is_one_and_nobody_redirects_the_alerts_of_others(league: League) -> None:
    address = f"memberships/{give(league).json()['id']}/"
    for bad in ("rowan", "a@b.example\nBcc: c@d.example", "x" * 250 + "@herons.example"):
        answer = league.callers["A"]("PATCH", address, {"email": bad}, If_Match="*")
        assert (answer.status_code, pointers(answer)) == (400, {"/email"})

    own = f"memberships/{Membership.objects.get(user=league.users['O']).id}/"
    assert league.callers["O"]("PATCH", own, {"email": "x@y.example"}, If_Match="*").status_code == 403


def test_a_second_role_goes_to_the_same_account(league: League) -> None:
    give(league)
    other = ClubFactory.create(organisation=league.organisation)
    assert give(league, club=str(other.id)).status_code == 201
    assert User.objects.filter(username="rowan").count() == 1


def test_the_same_role_twice_is_refused(league: League) -> None:
    give(league)
    answer = give(league)
    assert (answer.status_code, answer.json()["code"]) == (409, "role_held")


def test_a_name_of_another_organisation_is_taken_and_nobody_is_told_whose(league: League) -> None:
    foreign = League().users["O"]
    answer = give(league, username=foreign.username)

    assert (answer.status_code, answer.json()["code"], pointers(answer)) == (409, "name_taken", {"/username"})
    assert str(foreign.organisation_id) not in answer.content.decode()
    assert Membership.objects.filter(user=foreign).count() == 1


def test_a_coach_is_of_a_team_and_of_its_club(league: League) -> None:
    bare = give(league, role="coach")
    made = give(league, role="coach", club=None, team=str(league.team.id)).json()

    assert (bare.status_code, pointers(bare)) == (400, {"/team"})
    assert (made["team"], made["club"]) == (str(league.team.id), str(league.club.id))


def test_a_role_does_not_fit_every_place(league: League) -> None:
    other = TeamFactory.create(club=ClubFactory.create(organisation=league.organisation))
    misfits: list[tuple[dict[str, Any], set[str]]] = [
        ({"role": "administrator"}, {"/club"}),
        ({"role": "auditor", "club": None, "team": str(league.team.id)}, {"/team"}),
        ({"role": "officer", "club": None}, {"/club"}),
        ({"role": "officer", "team": str(league.team.id)}, {"/team"}),
        ({"role": "coach", "team": str(other.id)}, {"/team"}),
    ]
    answers = [give(league, **facts) for facts, _ in misfits]
    assert [(answer.status_code, pointers(answer)) for answer in answers] == [(400, places) for _, places in misfits]


def test_a_person_does_not_become_a_device(league: League) -> None:
    give(league)
    answer = give(league, role="damage_reporter", is_device=True)
    assert (answer.status_code, pointers(answer)) == (409, {"/is_device"})


def test_a_token_is_told_once_and_works_at_once(league: League) -> None:
    address = f"memberships/{give(league).json()['id']}/token/"
    answer = league.callers["A"]("POST", address, {"label": "her phone"})
    secret = answer.json()["token"]

    assert (answer.status_code, answer.json().keys(), answer["Cache-Control"]) == (201, {"token"}, "no-store")
    assert Caller(secret)("GET", "items/").status_code == 200
    assert not AccessToken.objects.filter(digest=secret).exists()
    assert AccessToken.objects.get(user__username="rowan").label == "her phone"


def test_a_role_taken_away_leaves_its_tokens_without_it(league: League) -> None:
    address = f"memberships/{give(league).json()['id']}/"
    caller = Caller(league.callers["A"]("POST", f"{address}token/", {}).json()["token"])
    assert caller("GET", "items/").status_code == 200

    assert league.callers["A"]("DELETE", address, If_Match="*").status_code == 204
    assert caller("GET", "items/").status_code == 403


def test_the_last_administrator_keeps_the_role(league: League) -> None:
    own = Membership.objects.get(user=league.users["A"])
    answer = league.callers["A"]("DELETE", f"memberships/{own.id}/", If_Match="*")
    assert (answer.status_code, answer.json()["code"]) == (409, "last_administrator")

    give(league, role="administrator", club=None)
    assert league.callers["A"]("DELETE", f"memberships/{own.id}/", If_Match="*").status_code == 204


def test_a_device_makes_neither_accounts_nor_tokens(league: League) -> None:
    """Else it could release by the hand of an account that it made."""
    made = give(league, username="tablet", role="administrator", club=None, is_device=True).json()
    tablet = Caller(league.callers["A"]("POST", f"memberships/{made['id']}/token/", {}).json()["token"])
    body = {"username": "x", "role": "administrator"}

    assert tablet("POST", "memberships/", body).status_code == 403
    assert tablet("PUT", f"memberships/{uuid7()}/", body).status_code == 403
    assert tablet("POST", f"memberships/{made['id']}/token/", {}).status_code == 403
    assert tablet("GET", "memberships/").status_code == 200


def test_whoever_does_not_see_every_club_sees_the_own_roles(league: League) -> None:
    for letter, seen in (("A", 6), ("U", 6), ("O", 1), ("C", 1)):
        assert len(league.callers[letter]("GET", "memberships/").json()["results"]) == seen, letter


def test_a_name_is_of_letters_figures_and_a_few_signs(league: League) -> None:
    assert pointers(give(league, username="two words")) == {"/username"}


def test_a_disabled_account_is_out_until_it_is_enabled(league: League) -> None:
    address = f"memberships/{give(league).json()['id']}/"
    caller = Caller(league.callers["A"]("POST", f"{address}token/", {}).json()["token"])

    disabled = league.callers["A"]("POST", f"{address}disable-account/", {})
    assert (disabled.status_code, disabled.json()["is_active"]) == (200, False)
    assert caller("GET", "items/").status_code == 401
    again = league.callers["A"]("POST", f"{address}disable-account/", {})
    assert (again.status_code, again.json()["code"]) == (409, "disabled")

    assert league.callers["A"]("POST", f"{address}enable-account/", {}).json()["is_active"] is True
    assert caller("GET", "items/").status_code == 200


def test_the_last_administrator_is_not_disabled(league: League) -> None:
    own = Membership.objects.get(user=league.users["A"])
    answer = league.callers["A"]("POST", f"memberships/{own.id}/disable-account/", {})
    assert (answer.status_code, answer.json()["code"]) == (409, "last_administrator")
