"""What was typed when the session had run out is neither lost nor sent by anybody else's hand."""

from typing import Any

import pytest
from django.conf import settings
from django.core import signing
from django.test import Client

from gearlife.domain.vocabulary import Role, Units
from gearlife.models import Club, User
from gearlife.operations import passwords
from gearlife.web import carrying
from tests.factories import ClubFactory, person, stamp
from tests.gearlife.web.test_sign_in import RIGHT, SIGN_IN, YOU, browser, fields_of, signs_in
from tests.pages import fields, forms, seen

pytestmark = pytest.mark.django_db

UNSENT = "/sign-in/unsent/"


@pytest.fixture
def officer() -> User:
    club: Club = ClubFactory.create(in_season=False)
    user = person(Role.OFFICER, at=club)
    passwords.set_password(user=user, password=RIGHT, stamp=stamp(user.organisation))
    return user


def cut_off(officer: User, **typed: Any) -> tuple[Client, Any]:
    """A browser whose session ended while a form was open, and what it is answered when the form is sent."""
    client = browser()
    signs_in(client, officer)
    form = fields_of(client, "units") | {"units": "centimetres", **typed}
    del client.cookies[settings.SESSION_COOKIE_NAME]
    return client, client.post(YOU, form)


def back_in(client: Client, answer: Any, officer: User) -> Any:
    form = fields(answer, SIGN_IN) | {"username": officer.username, "password": RIGHT}
    return client.post(SIGN_IN, form)


def test_what_was_typed_can_be_read_and_sent_after_signing_in(officer: User) -> None:
    client, answer = cut_off(officer, note="two lines\nof <words>")
    assert answer.status_code == 403
    assert "What you typed is kept" in seen(answer)

    on = back_in(client, answer, officer)
    assert (on.status_code, on["Location"]) == (303, UNSENT)
    offered = client.get(UNSENT)
    assert "You typed this on the page “Your settings” when you were signed out." in seen(offered)
    assert "note two lines of <words>" in seen(offered)
    officer.refresh_from_db()
    assert officer.units == Units.INCHES, "nothing is sent before somebody says so"

    sent = client.post(UNSENT, send_form(offered))
    assert (sent.status_code, sent["Location"]) == (307, YOU)
    client.post(sent["Location"], send_form(offered))
    officer.refresh_from_db()
    assert officer.units == Units.CENTIMETRES
    assert "Nothing waits to be sent." in seen(client.get(UNSENT))


def send_form(offered: Any) -> dict[str, Any]:
    return next(form.fields for form in forms(offered) if "units" in form.fields)


def test_what_was_typed_arrives_as_it_was_line_by_line(officer: User) -> None:
    client, answer = cut_off(officer, note="\nbegins with an empty line")
    back_in(client, answer, officer)
    assert send_form(client.get(UNSENT))["note"].endswith("\nbegins with an empty line")


def test_a_wrong_password_in_between_loses_nothing(officer: User) -> None:
    client, answer = cut_off(officer)
    again = client.post(SIGN_IN, fields(answer, SIGN_IN) | {"username": officer.username, "password": "guess"})
    assert again.status_code == 403
    assert back_in(client, again, officer)["Location"] == UNSENT


def test_it_can_be_left(officer: User) -> None:
    client, answer = cut_off(officer)
    back_in(client, answer, officer)
    left = client.post(f"{UNSENT}?leave=1", fields(client.get(UNSENT), "leave=1"))
    assert (left.status_code, left["Location"]) == (303, "/")
    assert "Nothing waits to be sent." in seen(client.get(UNSENT))


def test_passwords_are_not_carried_along(officer: User) -> None:
    client, answer = cut_off(officer, old_password="secret words", new_password="other words")
    back_in(client, answer, officer)
    offered = client.get(UNSENT)
    assert "units" in send_form(offered)
    assert b"secret words" not in offered.content
    assert b"other words" not in offered.content


def test_a_forged_form_of_another_site_is_refused_before_anything_is_kept(officer: User) -> None:
    client = browser()
    assert client.post(YOU, {"what": "units", "units": "centimetres"}).status_code == 403
    answer = client.post(YOU, {"what": "units", "units": "centimetres"})
    assert "no longer current" in seen(answer)
    assert not fields(answer, SIGN_IN)


@pytest.mark.parametrize("forged", ["nonsense", signing.dumps({"path": "/sign-out/", "fields": []}, salt="another")])
def test_what_we_did_not_seal_is_not_carried(officer: User, forged: str) -> None:
    client = browser()
    assert signs_in(client, officer, carried=forged)["Location"] == YOU
    assert "Nothing waits to be sent." in seen(client.get(UNSENT))


def test_what_is_too_large_to_be_carried_is_said_to_be(officer: User) -> None:
    _, answer = cut_off(officer, note="x" * (carrying.MOST_BYTES + 1))
    assert "was too much to be kept" in seen(answer)
    assert "carried" not in fields(answer, SIGN_IN)
