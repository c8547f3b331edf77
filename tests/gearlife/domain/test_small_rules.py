"""Access, days and normal forms."""

from datetime import UTC, date, datetime

import pytest

from gearlife.domain.access import Actor, Grant
from gearlife.domain.days import local_day
from gearlife.domain.ids import uuid7
from gearlife.domain.normal_form import normal_form, word_form
from gearlife.domain.vocabulary import Role

CLUB, TEAM = uuid7(), uuid7()


def holding(*grants: Grant) -> Actor:
    """Somebody with these grants."""
    return Actor(uuid7(), uuid7(), grants)


@pytest.mark.parametrize("role", [Role.ADMINISTRATOR, Role.AUDITOR])
def test_administrators_and_auditors_see_every_club(role: Role) -> None:
    assert holding(Grant(role)).sees_every_club


@pytest.mark.parametrize("role", [Role.OFFICER, Role.COACH, Role.DAMAGE_REPORTER])
def test_nobody_else_sees_every_club(role: Role) -> None:
    assert not holding(Grant(role, CLUB, TEAM)).sees_every_club


def test_an_officer_sees_the_club_whole_and_a_coach_the_team_alone() -> None:
    both = holding(Grant(Role.OFFICER, CLUB), Grant(Role.COACH, uuid7(), TEAM))

    assert (both.club_ids, both.team_ids) == (frozenset({CLUB}), frozenset({TEAM}))


def test_one_of_several_roles_is_enough() -> None:
    coach = holding(Grant(Role.COACH, CLUB, TEAM))

    assert coach.may_be(Role.OFFICER, Role.COACH)
    assert not coach.may_be(Role.OFFICER)


@pytest.mark.parametrize(
    ("zone", "day"),
    [("America/Chicago", date(2026, 10, 14)), ("UTC", date(2026, 10, 15)), ("Pacific/Auckland", date(2026, 10, 15))],
)
def test_one_moment_is_on_the_day_that_the_clubs_calendar_shows(zone: str, day: date) -> None:
    assert local_day(datetime(2026, 10, 15, 2, 30, tzinfo=UTC), zone) == day


@pytest.mark.parametrize("text", ["ab 12", " AB  12 ", "Ab\u00a012", "ＡＢ 12"])
def test_case_blanks_and_wide_letters_never_tell_two_serials_apart(text: str) -> None:
    assert normal_form(text) == "AB 12"


@pytest.mark.parametrize("text", ["shoulder_pads", "Shoulder Pads", "shoulder-pads", " SHOULDER  PADS "])
def test_a_word_of_a_list_is_known_however_it_is_spelt(text: str) -> None:
    assert word_form(text) == "shoulder_pads"
