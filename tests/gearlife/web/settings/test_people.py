"""People and devices: roles given and taken, secrets shown once, accounts closed at once."""

from typing import Any

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, LedgerEvent, Membership, User
from gearlife.operations import access
from tests.factories import UserFactory, person, token
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import League
from tests.gearlife.web.settings.acting import form_of, send
from tests.pages import links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

ADD, ADD_DEVICE = "/settings/people/add/", "/settings/devices/add/"


@pytest.fixture
def league() -> League:
    return League()


@pytest.fixture
def admin(league: League) -> Client:
    return sign_in(Client(), league.users["A"])


def shown_secret(answer: Any) -> str:
    """What stands in the frame of the secret; empty when there is none."""
    _, *after = answer.content.decode().split('<p class="serial words">')
    return after[0].split("<")[0] if after else ""


def add(league: League, client: Client, **typed: str) -> Any:
    about = {"username": "rowan", "role": "officer", "where": f"club:{league.club.id}", "email": ""}
    return send(client, ADD, **about | typed)


class TestPeople:
    def test_each_is_named_with_roles_and_devices_stand_apart(self, league: League, admin: Client) -> None:
        words = seen(admin.get("/settings/people/"))
        people, devices = words.split("Accounts of devices")
        assert f"{league.users['O']} Equipment manager: {league.club}" in people
        assert f"{league.users['C']} Coach: {league.team}, {league.club}" in people
        assert str(league.users["V"]) in devices
        assert str(league.users["V"]) not in people
        assert "No mail address: alerts do not reach this person." in people

    def test_an_officer_sees_the_own_account_alone(self, league: League) -> None:
        words = seen(sign_in(Client(), league.users["O"]).get("/settings/people/"))
        assert str(league.users["O"]) in words
        assert str(league.users["A"]) not in words

    def test_whoever_runs_the_machine_is_none_of_the_people(self, league: League, admin: Client) -> None:
        root = access.add_user(organisation=league.organisation, username="root-of-it", is_operator=True)
        assert "root-of-it" not in seen(admin.get("/settings/people/"))
        assert admin.get(f"/settings/people/{root.id}/").status_code == 404

    def test_they_are_found_by_a_part_of_the_name(self, league: League, admin: Client) -> None:
        UserFactory.create(organisation=league.organisation, username="zara")
        words = seen(admin.get("/settings/people/?q=zar"))
        assert "zara" in words
        assert str(league.users["O"]) not in words
        assert "Nobody of that name." in seen(admin.get("/settings/people/?q=qqq"))

    def test_without_a_role_it_says_so(self, league: League, admin: Client) -> None:
        lone = UserFactory.create(organisation=league.organisation)
        assert "No role: the account can sign in and see nothing." in seen(admin.get(f"/settings/people/{lone.id}/"))


class TestAddingAPerson:
    def test_the_first_password_is_shown_and_is_the_right_one(self, league: League, admin: Client) -> None:
        answer = add(league, admin, email="rowan@herons.example")
        user = User.objects.get(username="rowan")
        assert answer.status_code == 200
        assert user.check_password(shown_secret(answer))
        assert "This is shown once" in seen(answer)
        assert "no-store" in answer["Cache-Control"]
        assert user.email == "rowan@herons.example"
        assert Membership.objects.get(user=user).club == league.club

    def test_it_is_shown_once_and_kept_nowhere(
        self, league: League, admin: Client, caplog: pytest.LogCaptureFixture
    ) -> None:
        caplog.set_level("DEBUG")
        form = form_of(admin.get(ADD)).fields | {
            "username": "rowan",
            "role": "officer",
            "where": f"club:{league.club.id}",
        }
        first, second = (admin.post(ADD, form) for _ in range(2))
        secret = shown_secret(first)
        assert len(secret) > 10
        assert secret not in second.content.decode()
        assert "has done its work already" in seen(second)
        assert User.objects.get(username="rowan").check_password(secret)
        assert secret not in caplog.text
        assert all(secret not in str(cookie) for cookie in admin.cookies.values())
        assert not LedgerEvent.objects.filter(text__contains=secret).exists()
        assert secret not in admin.get("/settings/people/").content.decode()

    def test_an_account_that_is_there_keeps_its_password(self, league: League, admin: Client) -> None:
        user = league.users["O"]
        user.set_password("a long one of before")
        user.save()
        answer = add(league, admin, username=user.username, role="damage_reporter")
        assert (answer.status_code, shown_secret(answer)) == (200, "")
        assert f"{user} has this role now, and signs in as before." in seen(answer)
        user.refresh_from_db()
        assert user.check_password("a long one of before")
        assert Membership.objects.filter(user=user).count() == 2

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"role": ""}, "Role: This field is required."),
            ({"username": "two words"}, "User name: Letters, figures and . @ + - _ without blanks."),
            ({"email": "rowan"}, "Mail address:"),
            ({"role": "administrator"}, "name no club"),
            ({"role": "coach"}, "A coach's role names the team."),
            ({"where": ""}, "An officer's role names the club."),
        ],
    )
    def test_what_does_not_fit_is_refused_and_stays_typed(
        self, typed: dict[str, str], told: str, league: League, admin: Client
    ) -> None:
        answer = add(league, admin, **typed)
        assert answer.status_code == 400
        assert told in seen(answer)
        assert form_of(answer).fields["username"] == typed.get("username", "rowan")
        assert not User.objects.filter(username="rowan").exists()

    def test_a_place_of_another_organisation_is_no_choice(self, league: League, admin: Client) -> None:
        foreign = League()
        answer = add(league, admin, where=f"club:{foreign.club.id}")
        assert answer.status_code == 400
        assert foreign.club.name not in seen(answer)


class TestOneAccount:
    def test_a_role_is_given_and_taken(self, league: League, admin: Client) -> None:
        user = league.users["O"]
        address = f"/settings/people/{user.id}/"
        answer = send(admin, f"{address}role/", role="coach", where=f"team:{league.team.id}")
        assert (answer.status_code, answer["Location"]) == (303, address)
        given = Membership.objects.get(user=user, role="coach")
        assert given.team == league.team
        assert "The role was given." in seen(admin.get(address))
        assert send(admin, f"/settings/roles/{given.id}/take/").status_code == 303
        assert not Membership.objects.filter(id=given.id).exists()

    def test_the_last_administrator_keeps_the_role_and_the_account(self, league: League, admin: Client) -> None:
        own = Membership.objects.get(user=league.users["A"])
        person(Role.ADMINISTRATOR, at=league.organisation, is_device=True)
        closed = person(Role.ADMINISTRATOR, at=league.organisation)
        User.objects.filter(id=closed.id).update(is_active=False)
        for path in (f"/settings/roles/{own.id}/take/", f"/settings/people/{own.user_id}/disable/"):
            answer = send(admin, path)
            assert answer.status_code == 409
            assert "This is the last administrator: give the role to somebody else first." in seen(answer)
        assert Membership.objects.filter(id=own.id, user__is_active=True).exists()

    def test_a_new_password_ends_the_old_one_and_its_sessions(self, league: League, admin: Client) -> None:
        user = league.users["O"]
        user.set_password("a long one of before")
        user.save()
        theirs = sign_in(Client(), user)
        assert theirs.get("/settings/people/").status_code == 200
        secret = shown_secret(send(admin, f"/settings/people/{user.id}/password/"))
        user.refresh_from_db()
        assert user.check_password(secret)
        assert theirs.get("/settings/people/").status_code == 303

    def test_a_lock_out_is_ended_with_a_code(self, league: League, admin: Client) -> None:
        answer = send(admin, f"/settings/people/{league.users['O'].id}/lock/")
        assert len(shown_secret(answer)) > 10
        assert LedgerEvent.objects.filter(action="sign_in_code_made").count() == 1

    def test_a_devices_account_gets_no_password(self, league: League, admin: Client) -> None:
        address = f"/settings/people/{league.users['V'].id}/"
        answer = send(admin, f"{address}password/")
        assert (answer.status_code, shown_secret(answer)) == (403, "")
        assert "A new password" not in links(admin.get(address))

    def test_an_address_is_entered_and_a_bad_one_refused(self, league: League, admin: Client) -> None:
        user = league.users["O"]
        address = f"/settings/people/{user.id}/address/"
        refused = send(admin, address, email="rowan@")
        assert (refused.status_code, form_of(refused).fields["email"]) == (400, "rowan@")
        assert send(admin, address, email="rowan@herons.example").status_code == 303
        user.refresh_from_db()
        assert user.email == "rowan@herons.example"

    def test_a_disabled_account_is_out_at_once_and_comes_back(self, league: League, admin: Client) -> None:
        user = league.users["O"]
        theirs, caller = sign_in(Client(), user), Caller(token(user))
        assert (theirs.get("/settings/").status_code, caller("GET", "items/").status_code) == (200, 200)

        assert send(admin, f"/settings/people/{user.id}/disable/").status_code == 303
        assert (theirs.get("/settings/").status_code, caller("GET", "items/").status_code) == (303, 401)
        assert "(disabled)" in seen(admin.get("/settings/people/"))
        assert send(admin, f"/settings/people/{user.id}/disable/").status_code == 409

        assert send(admin, f"/settings/people/{user.id}/enable/").status_code == 303
        assert caller("GET", "items/").status_code == 200
        events = LedgerEvent.objects.filter(action__startswith="account_").order_by("seq")
        assert list(events.values_list("action", flat=True)) == ["account_disabled", "account_enabled"]


class TestDevices:
    def test_a_token_is_shown_once_and_does_what_its_role_carries(
        self, league: League, admin: Client, caplog: pytest.LogCaptureFixture
    ) -> None:
        caplog.set_level("DEBUG")
        form = form_of(admin.get(ADD_DEVICE)).fields
        form |= {"label": "tablet at the door", "role": "officer", "where": f"club:{league.club.id}"}
        first, second = (admin.post(ADD_DEVICE, form) for _ in range(2))
        secret = shown_secret(first)
        caller = Caller(secret)

        assert caller("GET", "items/").status_code == 200
        assert caller("POST", f"items/{league.item.id}/hold/", {"reason": "crack"}).status_code == 201
        released = caller("POST", f"items/{league.item.id}/release/", {"hold": str(league.hold.id), "reason": "x"})
        assert released.status_code == 403
        assert secret not in second.content.decode()
        assert secret not in caplog.text
        assert not LedgerEvent.objects.filter(text__contains=secret).exists()
        listed = admin.get("/settings/devices/")
        assert "tablet at the door" in seen(listed)
        assert secret not in listed.content.decode()
        made = AccessToken.objects.get(label="tablet at the door")
        assert made.user.is_device
        assert made.digest not in listed.content.decode()

    def test_what_a_device_never_does_is_said_before_it_is_made(self, admin: Client) -> None:
        assert "It never ends a stop, never retires an item" in seen(admin.get(ADD_DEVICE))

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"label": ""}, "What it is for: This field is required."),
            ({"where": ""}, "name the club, or a coach's team"),
            ({"role": "coach"}, "A coach's role names the team."),
            ({"role": "administrator"}, "Role:"),
        ],
    )
    def test_what_does_not_fit_is_refused(
        self, typed: dict[str, str], told: str, league: League, admin: Client
    ) -> None:
        about = {"label": "tablet", "role": "officer", "where": f"club:{league.club.id}"}
        answer = send(admin, ADD_DEVICE, **about | typed)
        assert (answer.status_code, shown_secret(answer)) == (400, "")
        assert told in seen(answer)
        assert User.objects.filter(is_device=True).count() == 1

    def test_a_revoked_one_stops_at_once_and_stands_below(self, league: League, admin: Client) -> None:
        device = league.users["V"]
        made = AccessToken.objects.get(user=device)
        assert send(admin, f"/settings/devices/{made.id}/revoke/").status_code == 303
        assert league.callers["V"]("GET", "items/").status_code == 401
        words = seen(admin.get("/settings/devices/"))
        assert str(device) in words.split("Over, the newest")[1]
        assert send(admin, f"/settings/devices/{made.id}/revoke/").status_code == 409

    def test_one_more_token_is_made_for_an_account(self, league: League, admin: Client) -> None:
        answer = send(admin, f"/settings/people/{league.users['V'].id}/token/", label="after the old one")
        assert Caller(shown_secret(answer))("GET", "items/").status_code == 200

    def test_without_any_it_says_what_one_is_for(self, league: League, admin: Client) -> None:
        AccessToken.objects.all().delete()
        assert "No token counts now. A phone at the field" in seen(admin.get("/settings/devices/"))
