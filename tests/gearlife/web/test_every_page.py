"""What holds for every page: who may not open it, that reading writes nothing, that bad input breaks nothing."""

from typing import Any

import pytest
from django.test import Client

from tests.gearlife.api.league import League, everything_written
from tests.gearlife.web.every_page import OPEN, Address, pages
from tests.pages import fields, forms, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

PAGES = pages()
CLOSED = [page for page in PAGES if page.name not in OPEN]
WITH_ROWS = [page for page in CLOSED if page.parts]
# One's own, whatever the role.
OWN = {"gearlife:you", "gearlife:new-password", "gearlife:unsent"}
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


@pytest.mark.parametrize("page", CLOSED, ids=str)
def test_a_stranger_is_sent_to_sign_in(page: Address, league: League) -> None:
    answer = Client().get(page.path(league))
    assert answer.status_code in {303, 302}
    assert answer["Location"].startswith("/sign-in/")
    # In the place of an act stands the sign-in page itself, for it carries along what was typed.
    before = everything_written()
    acted = Client().post(page.path(league), {"reason": "typed"})
    assert (acted.status_code, acted.get("Location", "")) == (403, "")
    assert {"username", "password", "carried"} <= fields(acted, "/sign-in/").keys()
    assert everything_written() == before


@pytest.mark.parametrize("page", CLOSED, ids=str)
def test_an_administrator_may_open_it_and_nothing_is_written_by_reading(page: Address, league: League) -> None:
    client = signed_in(league, "A")
    before = everything_written()
    answer = client.get(page.path(league))
    assert answer.status_code in {200, 303, 405}, seen(answer)
    if answer.status_code == 200 and not answer.streaming:
        assert answer["Content-Type"].startswith(("text/html", "text/csv"))
    assert everything_written() == before


@pytest.mark.parametrize("page", CLOSED, ids=str)
def test_whoever_may_only_report_damage_opens_none(page: Address, league: League) -> None:
    if page.name in OWN:
        return
    answer = signed_in(league, "D").get(page.path(league))
    assert answer.status_code in {403, 404}


@pytest.mark.parametrize("page", WITH_ROWS, ids=str)
def test_the_rows_of_another_organisation_are_not_there(page: Address, league: League) -> None:
    other = signed_in(League(), "A")
    before = everything_written()
    for ask in (other.get, other.post):
        assert ask(page.path(league)).status_code in {404, 405}
    assert everything_written() == before


@pytest.mark.parametrize("page", [page for page in CLOSED if not page.parts], ids=str)
def test_nothing_of_another_organisation_is_seen(page: Address, league: League) -> None:
    answer = signed_in(League(), "A").get(page.path(league))
    content = b"".join(answer) if answer.streaming else answer.content
    told = (league.item.serial, league.player.family_name, league.club.name, league.team.name, str(league.item.id))
    assert [words for words in told if words.encode() in content] == []


@pytest.mark.parametrize("page", PAGES, ids=str)
def test_a_form_of_another_site_is_refused(page: Address, league: League) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(league.users["A"])
    before = everything_written()
    assert client.post(page.path(league), {"reason": "x"}).status_code in {403, 405}
    assert everything_written() == before


@pytest.mark.parametrize("page", CLOSED, ids=str)
@pytest.mark.parametrize("typed", NASTY, ids=range(len(NASTY)))
def test_what_nobody_should_type_is_refused_in_words(page: Address, typed: str, league: League) -> None:
    client = signed_in(league, "A")
    path = page.path(league)
    shown = client.get(path)
    if shown.status_code != 200 or not shown["Content-Type"].startswith("text/html"):
        return
    for form in [form for form in forms(shown) if form.action in {"", path}]:
        sent: dict[str, Any] = {name: value if name == "id" else typed for name, value in form.fields.items()}
        answer = client.post(path, sent) if form.method == "post" else client.get(path, sent)
        assert answer.status_code < 500
