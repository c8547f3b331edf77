"""The page of loans: what is out, what is overdue, and back in by one tap."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from tests.factories import AT, ClubFactory, ItemFactory, PlayerFactory, later
from tests.fitting.web.conftest import Browse
from tests.pages import forms, seen

pytestmark = pytest.mark.django_db


def lend(item: Item, player: Player, now: Stamp) -> Assignment:
    return issue(new=NewAssignment(item.id, player, loan=True), stamp=now)


def test_it_names_what_is_out_and_what_is_overdue_since_noon(
    browser: Client, club: Club, item: Item, player: Player, now: Stamp
) -> None:
    assert "Nothing is lent out." in seen(browser.get("/loans/"))
    # The clock stands at eleven in the morning: lent yesterday is asked for in an hour, lent two days ago is overdue.
    lend(item, player, later(now, days=-1))
    assert "overdue" not in seen(browser.get("/loans/"))
    lend(ItemFactory.create(club=club), PlayerFactory.create(club=club), later(now, days=-2))

    assert seen(browser.get("/loans/")).count("overdue: ask for it") == 1


def test_one_tap_logs_it_in_and_a_second_changes_nothing(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    loan = lend(item, player, later(now, hours=-3))
    [form] = [
        each.fields
        for each in forms(browser.get("/loans/"))
        if "assignment" in each.fields and "way" not in each.fields
    ]
    assert [browser.post("/loans/", form).status_code for _ in range(2)] == [303, 303]
    loan.refresh_from_db()

    assert loan.returned_at == now.at
    assert browser.post("/loans/", {"assignment": "x"}).status_code == 400


def test_what_is_the_players_own_is_no_loan_and_is_not_logged_in_here(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    own = issue(new=NewAssignment(item.id, player), stamp=now)

    assert "Nothing is lent out." in seen(browser.get("/loans/"))
    assert browser.post("/loans/", {"assignment": str(own.id)}).status_code == 404


def test_a_coach_reads_the_own_teams_and_another_club_sees_none(
    browse: Browse, club: Club, team: Team, item: Item, player: Player, now: Stamp
) -> None:
    loan = lend(item, player, now)
    coach = browse(Role.COACH, team)
    elsewhere = browse(Role.OFFICER, ClubFactory.create(organisation=club.organisation))

    assert player.family_name in seen(coach.get("/loans/"))
    assert coach.post("/loans/", {"assignment": str(loan.id)}).status_code == 403
    assert "Nothing is lent out." in seen(elsewhere.get("/loans/"))
    assert elsewhere.post("/loans/", {"assignment": str(loan.id)}).status_code == 404


def test_the_days_page_says_at_the_minute_what_is_out_and_overdue(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    assert "loaner" not in seen(browser.get("/"))
    lend(item, player, later(now, days=-1))
    with time_machine.travel(AT + timedelta(minutes=59), tick=False):
        before = seen(browser.get("/"))
    with time_machine.travel(AT + timedelta(hours=1), tick=False):
        after = seen(browser.get("/"))

    assert "1 loaner is out." in before
    assert "should have been back" not in before
    assert "1 of them should have been back by noon: ask for it." in after
