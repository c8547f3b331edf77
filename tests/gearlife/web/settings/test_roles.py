"""Who opens which page of the settings, and who acts there: every page, every role.

A row names the roles that open the page, then those whose act is not refused for want of a role: (A)dministrator,
a(U)ditor, (O)fficer, (C)oach, (D)amage reporter. A page without a row fails.
"""

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from tests.factories import ClubFactory, person
from tests.gearlife.api.league import LETTERS, League, everything_written
from tests.gearlife.web.every_page import pages
from tests.pages import links, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

MATRIX = {
    "settings": ("AUOC", ""),
    "rules": ("AUOC", ""),
    "rule": ("AUOC", ""),
    "rule-add": ("A", "A"),
    "rule-change": ("A", "A"),
    "rule-end": ("A", "A"),
    "models": ("AUOC", ""),
    "model": ("AO", "AO"),
    "model-add": ("AO", "AO"),
    "inspections:model-parts": ("AUOC", "AO"),
    "inspections:model-air": ("AO", "AO"),
    "inspections:unapproved-parts": ("AUOC", "A"),
    "seasons": ("AUOC", ""),
    "season": ("AO", "AO"),
    "season-add": ("AO", "AO"),
    "season-remove": ("AO", "AO"),
    "organisation": ("A", "A"),
    "clubs": ("AUOC", ""),
    "club": ("AO", "AO"),
    "club-add": ("A", "A"),
    "team": ("AO", "AO"),
    "team-add": ("AO", "AO"),
    "people": ("AUOC", ""),
    # The account is the officer's own.
    "person": ("AUO", ""),
    "person-add": ("A", "A"),
    "role-give": ("A", "A"),
    "role-take": ("A", "A"),
    "person-address": ("A", "A"),
    "person-password": ("A", "A"),
    "person-lock": ("A", "A"),
    "person-token": ("A", "A"),
    "person-disable": ("A", "A"),
    "person-enable": ("A", "A"),
    "fitting:retention": ("AU", ""),
    "fitting:retention-change": ("A", "A"),
    "devices": ("AU", ""),
    "device-add": ("A", "A"),
    "token-revoke": ("A", "A"),
}
PAGES = {page.name.removeprefix("gearlife:"): page for page in pages() if page.route.startswith("settings/")}
# Of whoever owns them, and looked at elsewhere.
OTHERS = {"you", "new"}


@pytest.fixture
def league() -> League:
    return League()


def signed_in(league: League, letter: str) -> Client:
    return sign_in(Client(), league.users[letter])


def test_every_page_has_its_row_and_every_row_its_page() -> None:
    assert {name for name in PAGES if name.split("-")[0] not in OTHERS} == MATRIX.keys()


@pytest.mark.parametrize("letter", LETTERS)
def test_each_role_opens_what_its_row_says(letter: str, league: League) -> None:
    client = signed_in(league, letter)
    answers = {name: client.get(PAGES[name].path(league)).status_code for name in MATRIX}
    opened = {name for name, status in answers.items() if status == 200}
    assert opened == {name for name, (opens, _) in MATRIX.items() if letter in opens}
    assert set(answers.values()) <= {200, 403, 404}


@pytest.mark.parametrize("letter", LETTERS)
def test_each_role_acts_where_its_row_says_and_elsewhere_nothing_is_written(letter: str, league: League) -> None:
    client = signed_in(league, letter)
    refused = {name for name, (_, acts) in MATRIX.items() if letter not in acts}
    before = everything_written()
    statuses = {name: client.post(PAGES[name].path(league), {"reason": "x"}).status_code for name in refused}
    assert {name: status for name, status in statuses.items() if status not in {403, 404, 405}} == {}
    assert everything_written() == before
    # What is sent is incomplete, and so refused for another reason.
    for name in MATRIX.keys() - refused:
        assert client.post(PAGES[name].path(league), {"reason": "x"}).status_code == 400, name
    assert everything_written() == before


def test_a_devices_own_account_changes_none_of_them(league: League) -> None:
    """It has no password and so no session; were there one, it could still not make accounts, tokens or rules."""
    client = signed_in(league, "V")
    before = everything_written()
    for name in ("season", "season-add", "season-remove", "club", "team", "team-add", "model"):
        assert client.post(PAGES[name].path(league), {"reason": "x"}).status_code == 403, name
    assert everything_written() == before


def test_an_officer_of_another_club_changes_nothing_of_this_one(league: League) -> None:
    elsewhere = person(Role.OFFICER, at=ClubFactory.create(organisation=league.organisation))
    client = sign_in(Client(), elsewhere)
    for name in ("season", "season-add", "season-remove", "club", "team", "team-add"):
        assert client.get(PAGES[name].path(league)).status_code == 404, name
        assert client.post(PAGES[name].path(league), {"reason": "x"}).status_code == 404, name


@pytest.mark.parametrize(("letter", "named"), [("A", True), ("U", True), ("O", True), ("C", False)])
def test_the_navigation_names_the_settings(letter: str, named: bool, league: League) -> None:
    assert ("Settings" in links(signed_in(league, letter).get("/settings/rules/"))) is named
