"""One's own settings: units, password, sessions; nobody else's."""

from typing import Any

import pytest
from django.template import engines
from django.test import Client, RequestFactory
from django.utils import translation

from gearlife.domain.lengths import in_millimetres, in_units
from gearlife.domain.vocabulary import Role, Units
from gearlife.models import Membership, SignInSession, User
from gearlife.operations import passwords
from tests.factories import ClubFactory, person, stamp
from tests.gearlife.web.test_sign_in import RIGHT, YOU, browser, fields_of, is_in, signs_in
from tests.pages import fields, forms, seen

pytestmark = pytest.mark.django_db

PASSWORD = "/settings/you/password/"


@pytest.fixture
def officer() -> User:
    return somebody(Role.OFFICER)


def somebody(role: Role) -> User:
    club = ClubFactory.create(in_season=False)
    user = person(role, at=club if role not in {Role.ADMINISTRATOR, Role.AUDITOR} else club.organisation)
    passwords.set_password(user=user, password=RIGHT, stamp=stamp(user.organisation))
    return user


def signed_in(user: User) -> Client:
    client = browser()
    assert signs_in(client, user).status_code == 303
    return client


@pytest.mark.parametrize("role", [Role.ADMINISTRATOR, Role.AUDITOR, Role.OFFICER, Role.DAMAGE_REPORTER])
def test_everybody_has_settings_of_the_own(role: Role) -> None:
    client = signed_in(somebody(role))
    assert [client.get(address).status_code for address in (YOU, PASSWORD)] == [200, 200]


def test_whoever_has_lost_the_last_role_can_still_sign_out(officer: User) -> None:
    client = signed_in(officer)
    Membership.objects.filter(user=officer).delete()
    assert client.post("/sign-out/", fields(client.get(YOU), "/sign-out/"))["Location"] == "/sign-in/"


def test_units_are_inches_until_the_person_says_otherwise(officer: User) -> None:
    client = signed_in(officer)
    form = fields_of(client, "units")
    assert form["units"] == "inches"
    after = client.post(YOU, form | {"units": "centimetres"}, follow=True)
    assert fields_of(client, "units")["units"] == "centimetres"
    assert "Lengths are shown that way from now on." in seen(after)

    refused = client.post(YOU, form | {"units": "cubits"})
    assert (refused.status_code, "Choose inches or centimetres." in seen(refused)) == (400, True)
    assert client.post(YOU, form | {"what": "nothing"}).status_code == 400


def test_a_length_is_shown_in_the_readers_units(officer: User) -> None:
    """571 mm are 22.48 inches by the definition of the inch, 25.4 mm."""
    template = engines["django"].from_string("{% load gear %}{% length mm %}")
    request = RequestFactory().get("/")
    request.user = officer
    for units, says in ((Units.INCHES, "22.5 in"), (Units.CENTIMETRES, "57.1 cm")):
        officer.units = units.value
        assert template.render({"mm": 571}, request) == says
    assert template.render({"mm": None}, request) == ""


def test_lengths_come_back_to_the_millimetre_within_a_tape_readers_error() -> None:
    for units, worst in ((Units.INCHES, 1.27 + 0.5), (Units.CENTIMETRES, 0)):
        assert max(abs(in_millimetres(in_units(mm, units), units) - mm) for mm in range(400, 1400)) <= worst


@pytest.mark.parametrize(("language", "says"), [("en", "Oct. 14, 2026"), ("en-gb", "14 Oct 2026")])
def test_days_are_written_as_the_browsers_language_has_them(officer: User, language: str, says: str) -> None:
    SignInSession.objects.all().delete()
    client = signed_in(officer)
    SignInSession.objects.create(
        session_key="elsewhere",
        user=officer,
        expire_date="2999-01-01T00:00Z",
        began_at="2026-10-14T16:00Z",
        used_at="2026-10-14T16:00Z",
    )
    answer = client.get(YOU, headers={"Accept-Language": language})
    assert f"Signed in {says}" in seen(answer)
    assert f'<html lang="{language}">' in answer.content.decode()
    translation.activate("en")


def test_the_api_answers_alike_in_every_language(officer: User) -> None:
    client = signed_in(officer)
    client.get(YOU, headers={"Accept-Language": "en-gb"})
    answer = client.get("/api/v1/items/", headers={"Accept-Language": "en-gb"})
    assert "Content-Language" not in answer
    assert translation.get_language() == "en"


def test_a_changed_password_signs_out_whatever_else_was_signed_in(officer: User) -> None:
    here, elsewhere = signed_in(officer), signed_in(officer)
    form = fields(here.get(PASSWORD)) | {
        "old_password": RIGHT,
        "new_password": "a whole new one",
        "again": "a whole new one",
    }
    answer = here.post(PASSWORD, form, follow=True)

    assert "Your password is changed." in seen(answer)
    assert (is_in(here), is_in(elsewhere)) == (True, False)
    assert signs_in(browser(), officer, "a whole new one").status_code == 303


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"old_password": "guess"}, "This is not the password that you have now."),
        ({"new_password": "short", "again": "short"}, "at least 12 characters"),
        ({"again": "another one"}, "not typed the same way twice"),
    ],
)
def test_a_password_that_cannot_be_changed_says_why(officer: User, typed: dict[str, str], says: str) -> None:
    client = signed_in(officer)
    right = {"old_password": RIGHT, "new_password": "a whole new one", "again": "a whole new one"}
    form = next(form.fields for form in forms(client.get(PASSWORD)) if "old_password" in form.fields)
    answer = client.post(PASSWORD, form | right | typed)
    assert answer.status_code == 400
    assert says in seen(answer)
    assert b"a whole new one" not in answer.content
    assert signs_in(browser(), officer).status_code == 303


def test_another_browser_is_signed_out_from_here_and_nobody_elses(officer: User) -> None:
    here, elsewhere, other = signed_in(officer), signed_in(officer), signed_in(somebody(Role.OFFICER))
    form = fields_of(here, "end")
    assert not any(row.session_key in here.get(YOU).content.decode() for row in SignInSession.objects.all())
    foreign = fields_of_other(other, officer)
    assert here.post(YOU, form | {"session": foreign}).status_code == 404
    assert is_in(other)

    assert "That browser is signed out." in seen(here.post(YOU, form, follow=True))
    assert (is_in(here), is_in(elsewhere)) == (True, False)
    assert here.post(YOU, form).status_code == 404


def fields_of_other(client: Client, officer: User) -> Any:
    """The name of somebody else's session, as their own page would write it from another browser."""
    from gearlife.queries.sessions import name_of

    row = SignInSession.objects.exclude(user=officer).get()
    return name_of(row)


def test_the_page_asks_no_more_for_many_sessions_than_for_one(
    officer: User, django_assert_max_num_queries: Any
) -> None:
    client = signed_in(officer)
    for n in range(30):
        SignInSession.objects.create(session_key=f"s{n}", user=officer, expire_date="2999-01-01T00:00Z")
    with django_assert_max_num_queries(5):
        answer = client.get(YOU)
    assert len([form for form in forms(answer) if form.fields.get("what") == "end"]) <= 20
