"""What holds for every page: who may not open it, that reading writes nothing, that bad input breaks nothing."""

from typing import Any

import pytest
from django.test import Client

from tests.gearlife.api.league import League, everything_written
from tests.gearlife.web.every_page import OPEN, Address, pages
from tests.pages import fields, forms, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

PAGES = pages()
CLOSED = [page for page in PAGES if page.name not in OPEN]
WITH_ROWS = [page for page in CLOSED if page.parts]
# One's own, whatever the role.
OWN = {"gearlife:you", "gearlife:new-password", "gearlife:unsent"}
READ = {200, 303, 405}
NASTY = (
    "",
    "\x00",
    "x" * 5000,
    "'\"><script>alert(1)</script>",
    "00000000-0000-0000-0000-000000000000",
    "-1",
    "9" * 40,
    "2026-02-30",
)


@pytest.fixture
def league() -> League:
    return League()


def signed_in(league: League, letter: str) -> Client:
    return sign_in(Client(), league.users[letter])


def test_a_stranger_is_sent_to_sign_in(league: League) -> None:
    odd: dict[str, object] = {}
    before = everything_written()
    for page in CLOSED:
        answer = Client().get(page.path(league))
        if answer.status_code not in {302, 303} or not answer["Location"].startswith("/sign-in/"):
            odd[page.name] = answer.status_code
        # In the place of an act stands the sign-in page itself, for it carries along what was typed.
        acted = Client().post(page.path(league), {"reason": "typed"})
        if acted.status_code != 403 or not {"username", "password", "carried"} <= fields(acted, "/sign-in/").keys():
            odd[page.name] = acted.status_code
    assert odd == {}
    assert everything_written() == before


def test_an_administrator_may_open_each_and_nothing_is_written_by_reading(league: League) -> None:
    client = signed_in(league, "A")
    before = everything_written()
    answers = {page.name: client.get(page.path(league)) for page in CLOSED}
    assert {name: answer.status_code for name, answer in answers.items() if answer.status_code not in READ} == {}
    shown = [answer for answer in answers.values() if answer.status_code == 200]
    assert {answer["Content-Type"].partition(";")[0] for answer in shown} <= {"text/html", "text/csv"}
    assert everything_written() == before


def test_whoever_may_only_report_damage_opens_none(league: League) -> None:
    client = signed_in(league, "D")
    answers = {page.name: client.get(page.path(league)).status_code for page in CLOSED if page.name not in OWN}
    assert {name: status for name, status in answers.items() if status not in {403, 404}} == {}


def test_the_rows_of_another_organisation_are_not_there(league: League) -> None:
    other = signed_in(League(), "A")
    before = everything_written()
    answers = {
        (page.name, ask.__name__): ask(page.path(league)).status_code
        for page in WITH_ROWS
        for ask in (other.get, other.post)
    }
    assert {asked: status for asked, status in answers.items() if status not in {404, 405}} == {}
    assert everything_written() == before


def test_nothing_of_another_organisation_is_seen(league: League) -> None:
    other = signed_in(League(), "A")
    told = (league.item.serial, league.player.family_name, league.club.name, league.team.name, str(league.item.id))
    seen_there: list[tuple[str, str]] = []
    for page in CLOSED:
        if not page.parts:
            answer = other.get(page.path(league))
            content = b"".join(answer) if answer.streaming else answer.content
            seen_there += [(page.name, words) for words in told if words.encode() in content]
    assert seen_there == []


def test_a_form_of_another_site_is_refused(league: League) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(league.users["A"])
    before = everything_written()
    answers = {page.name: client.post(page.path(league), {"reason": "x"}).status_code for page in PAGES}
    assert {name: status for name, status in answers.items() if status not in {403, 405}} == {}
    assert everything_written() == before


@pytest.mark.parametrize("page", CLOSED, ids=str)
def test_what_nobody_should_type_is_refused_in_words(page: Address, league: League) -> None:
    client = signed_in(league, "A")
    path = page.path(league)
    for typed in NASTY:
        shown = client.get(path)
        if shown.status_code != 200 or not shown["Content-Type"].startswith("text/html"):
            return
        for form in [form for form in forms(shown) if form.action in {"", path}]:
            sent: dict[str, Any] = {name: value if name == "id" else typed for name, value in form.fields.items()}
            answer = client.post(path, sent) if form.method == "post" else client.get(path, sent)
            assert answer.status_code < 500, typed
