"""The sign-in page in two browsers, sessions over the days, and what was typed when one had run out."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, SignInSession, User
from gearlife.operations import passwords
from tests.factories import AT, ClubFactory, UserFactory, person, stamp
from tests.pages import fields, forms, seen

pytestmark = pytest.mark.django_db

RIGHT = "rodaki-tumeso"
YOU, SIGN_IN = "/settings/you/", "/sign-in/"
DAY = timedelta(days=1)


@pytest.fixture
def club() -> Club:
    return ClubFactory.create(in_season=False)


@pytest.fixture
def officer(club: Club) -> User:
    user = person(Role.OFFICER, at=club)
    passwords.set_password(user=user, password=RIGHT, stamp=stamp(user.organisation))
    return user


def browser(**headers: str) -> Client:
    """A browser of its own: its cookies, and the check for forged forms in force."""
    return Client(enforce_csrf_checks=True, headers=headers)


def signs_in(client: Client, user: User, password: str = RIGHT, address: str = "192.0.2.7", **more: str) -> Any:
    asked = client.get(SIGN_IN, {"next": more.pop("next", YOU)})
    form = fields(asked, SIGN_IN) | {"username": user.username, "password": password} | more
    return client.post(SIGN_IN, form, REMOTE_ADDR=address)


def is_in(client: Client) -> bool:
    return bool(client.get(YOU).status_code == 200)


def test_somebody_signs_in_is_where_they_wanted_to_go_and_signs_out(officer: User) -> None:
    client = browser()
    answer = signs_in(client, officer)
    assert (answer.status_code, answer["Location"]) == (303, YOU)
    assert f"You are signed in as {officer.username}." in seen(client.get(YOU))

    assert client.get("/sign-out/").status_code == 405
    assert is_in(client)
    out = client.post("/sign-out/", fields(client.get(YOU), "/sign-out/"))
    assert (out.status_code, out["Location"]) == (303, SIGN_IN)
    assert not is_in(client)
    assert not SignInSession.objects.filter(user=officer).exists()


def test_a_wrong_password_says_so_and_keeps_the_name(officer: User) -> None:
    answer = signs_in(browser(), officer, "not this one")
    form = fields(answer, SIGN_IN)
    assert answer.status_code == 403
    assert "You are not signed in." in seen(answer)
    assert "do not belong together" in seen(answer)
    assert (form["username"], form["password"], form["next"]) == (officer.username, "", YOU)


def test_a_stranger_is_locked_out_and_the_officers_own_browser_is_not(officer: User) -> None:
    own, stranger, new = browser(), browser(), browser()
    with time_machine.travel(AT, tick=False):
        assert signs_in(own, officer).status_code == 303
        own.post("/sign-out/", fields(own.get(YOU), "/sign-out/"))

        statuses = [signs_in(stranger, officer, "guess", f"198.51.100.{n}").status_code for n in range(200)]
        assert statuses == [403] * 10 + [429] * 190

        refused = signs_in(new, officer, address="203.0.113.9")
        assert refused.status_code == 429
        assert "Try again in 15 minutes" in seen(refused)
        assert "on which you have signed in before still lets you in" in seen(refused)
        assert signs_in(own, officer, address="198.51.100.3").status_code == 303
        assert is_in(own)

        code = seen(own.post(YOU, fields_of(own, "code"), follow=True)).partition("new browser: ")[2][:13]
        assert signs_in(new, officer, address="203.0.113.9", code=code).status_code == 303
    with time_machine.travel(AT + timedelta(minutes=15), tick=False):
        assert signs_in(stranger, officer).status_code == 303


def fields_of(client: Client, what: str) -> dict[str, Any]:
    """The fields of that form on the own settings."""
    return next(form.fields for form in forms(client.get(YOU)) if form.fields.get("what") == what)


def test_the_cookie_of_a_known_browser_is_signed_and_no_script_reads_it(officer: User) -> None:
    client = browser()
    cookie = signs_in(client, officer).cookies[settings.KNOWN_COOKIE_NAME]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    assert cookie["max-age"] == 400 * 24 * 3600

    forged = browser()
    forged.cookies[settings.KNOWN_COOKIE_NAME] = cookie.value[:-1] + ("A" if cookie.value[-1] != "A" else "B")
    statuses = [signs_in(forged, officer, "guess").status_code for _ in range(11)]
    assert statuses[-1] == 429
    assert signs_in(browser(), officer).status_code == 429, "what is forged counts among strangers"


@pytest.mark.parametrize(("proxies", "statuses"), [(0, {403}), (1, {403, 429})])
def test_the_network_is_the_one_that_a_trusted_proxy_names(settings: Any, proxies: int, statuses: set[int]) -> None:
    """Behind one proxy, whatever the stranger writes further left: forty tries, each as another name."""
    settings.PROXIES = proxies
    answers = set()
    for n in range(41):
        client = browser(**{"X-Forwarded-For": f"203.0.113.{n}, 198.51.100.9"})
        form = fields(client.get(SIGN_IN), SIGN_IN) | {"username": f"nobody-{n}", "password": "guess"}
        answers.add(client.post(SIGN_IN, form, REMOTE_ADDR=f"192.0.2.{n}").status_code)
    assert answers == statuses


def test_one_browser_is_known_to_several_people(officer: User, club: Club) -> None:
    other = person(Role.OFFICER, at=club)
    passwords.set_password(user=other, password=RIGHT, stamp=stamp(other.organisation))
    shared = browser()
    for user in (officer, other):
        assert signs_in(shared, user).status_code == 303
    for user in (officer, other):
        assert [signs_in(browser(), user, "guess").status_code for _ in range(11)][-1] == 429
        assert signs_in(shared, user).status_code == 303


@pytest.mark.parametrize(
    "elsewhere", ["https://evil.example/", "//evil.example/", "/\\evil.example/", "javascript:alert(1)", "evil"]
)
def test_nobody_is_sent_elsewhere_after_signing_in(officer: User, elsewhere: str) -> None:
    answer = signs_in(browser(), officer, next=elsewhere)
    assert (answer.status_code, answer["Location"]) == (303, "/")


def test_a_session_is_a_new_one_after_signing_in(officer: User) -> None:
    client = browser()
    signs_in(client, officer)
    first = client.cookies[settings.SESSION_COOKIE_NAME].value
    signs_in(client, officer)
    assert client.cookies[settings.SESSION_COOKIE_NAME].value != first
    assert SignInSession.objects.filter(user=officer).count() == 1


def test_devices_and_ended_accounts_do_not_sign_in_and_an_ended_ones_session_ends_at_once(officer: User) -> None:
    tablet = UserFactory.create(organisation=officer.organisation, is_device=True)
    tablet.set_password(RIGHT)
    tablet.save()
    client = browser()
    assert signs_in(browser(), tablet).status_code == 403
    assert signs_in(client, officer).status_code == 303

    User.objects.filter(id=officer.id).update(is_active=False)
    assert not is_in(client)
    assert client.get("/api/v1/items/").status_code == 401
    assert signs_in(browser(), officer).status_code == 403


def test_a_session_goes_on_while_it_is_used_and_ends_a_fortnight_after(officer: User) -> None:
    client = browser()
    with time_machine.travel(AT, tick=False):
        signs_in(client, officer)
    for days in (13, 26, 39):
        with time_machine.travel(AT + days * DAY, tick=False):
            assert is_in(client), days
    with time_machine.travel(AT + 53 * DAY, tick=False):
        assert not is_in(client)


def test_it_is_renewed_no_more_than_once_a_day(officer: User, django_assert_num_queries: Any) -> None:
    client = browser()
    renewed = []
    for hours in (0, 1, 23, 24, 25, 47, 48):
        with time_machine.travel(AT + timedelta(hours=hours), tick=False):
            answer = client.get(YOU) if hours else signs_in(client, officer)
            if settings.SESSION_COOKIE_NAME in answer.cookies:
                renewed.append(hours)
    assert renewed == [0, 24, 48]


def test_after_ninety_days_it_ends_however_much_it_is_used_and_says_so_a_week_before(officer: User) -> None:
    client = browser()
    with time_machine.travel(AT, tick=False):
        signs_in(client, officer)
    for days in range(1, 90):
        with time_machine.travel(AT + days * DAY, tick=False):
            told = "you will be signed out on this browser" in seen(client.get(YOU))
            assert told is (days >= 83), days
    with time_machine.travel(AT + 89 * DAY, tick=False):
        assert "On Jan. 12, 2027 you will be signed out" in seen(client.get(YOU))
    with time_machine.travel(AT + 90 * DAY, tick=False):
        assert not is_in(client)


def test_signing_in_again_before_the_end_begins_anew(officer: User) -> None:
    client = browser()
    with time_machine.travel(AT, tick=False):
        signs_in(client, officer)
    for days in (13, 26, 39, 52, 65, 78, 85):
        with time_machine.travel(AT + days * DAY, tick=False):
            assert is_in(client)
    with time_machine.travel(AT + 85 * DAY, tick=False):
        signs_in(client, officer)
        assert "you will be signed out" not in seen(client.get(YOU))
    with time_machine.travel(AT + 98 * DAY, tick=False):
        assert is_in(client)
