"""`audits/`: who sees what of it, how it is asked, and what it costs."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club
from tests.factories import ClubFactory, ItemFactory, ModelFactory, TeamFactory, pads, person, token
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

AUDITS = ("audits/age/", "audits/certification/")


@pytest.fixture
def league() -> League:
    return League()


def asked(caller: Caller, address: str) -> Any:
    answer = caller("GET", address)
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_gear_is_counted_by_what_is_asked(officer: Caller, club: Club) -> None:
    team = TeamFactory.create(club=club)
    dome = ModelFactory.create(manufacturer__organisation=club.organisation)
    for made_on in ("2020-10-14", "2020-10-15", "2020"):
        ItemFactory.create(club=club, model=dome, team=team, made_on=made_on)
    pads(club)
    assert asked(officer, "audits/age/?by=team,kind") == {
        "on": "2026-10-14",
        "items": 4,
        "without_date": 1,
        "results": [
            {"team": str(team.id), "team_name": team.name, "kind": "helmet", "years": 5, "made": "known", "items": 1},
            {"team": str(team.id), "team_name": team.name, "kind": "helmet", "years": 6, "made": "known", "items": 2},
            {"team": None, "team_name": None, "kind": "shoulder_pads", "years": None, "made": "unknown", "items": 1},
        ],
    }
    assert [row["years"] for row in asked(officer, "audits/age/?on=2026-10-15&kind=helmet")["results"]] == [6]
    (row,) = asked(officer, f"audits/age/?by=model&model={dome.id}&on=2027-01-01")["results"][1:]
    assert row | {"years": 7, "items": 1, "model_name": dome.name, "kind": "helmet"} == row


def test_what_reaches_which_limit_is_told_by_season(officer: Caller, club: Club) -> None:
    ItemFactory.create(club=club, made_on="2016")
    ItemFactory.create(club=club, made_on="2017")
    answer = asked(officer, "audits/certification/?by=club&code=recertification_limit")
    told: dict[str, object] = {
        "club": str(club.id),
        "club_name": club.name,
        "code": "recertification_limit",
        "anchor": "made",
    }
    told |= {"effect": "warn", "stale": 0}
    assert answer == {
        "on": "2026-10-14",
        "items": 2,
        "without_limit": 0,
        "stale_items": 0,
        "results": [
            told | {"season": 2026, "reached": True, "items": 1},
            told | {"season": 2027, "reached": False, "items": 1},
        ],
    }


def test_every_filter_narrows(officer: Caller, club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation)
    team = TeamFactory.create(club=club)
    item = ItemFactory.create(club=club, team=team)
    pads(club)
    ItemFactory.create(club=other)
    whole = Caller(token(person(Role.AUDITOR, at=club.organisation)))
    counts = {
        "": 3,
        f"club={club.id}": 2,
        f"team={team.id}": 1,
        f"kind={Kind.SHOULDER_PADS}": 1,
        f"model={item.model_id}": 1,
        "whereabouts=player": 0,
        "whereabouts=stock": 3,
    }
    for address in AUDITS:
        assert {query: asked(whole, f"{address}?{query}")["items"] for query in counts} == counts


def test_an_officer_sees_the_own_clubs_and_a_coach_the_own_team(officer: Caller, club: Club) -> None:
    team = TeamFactory.create(club=club)
    coach = Caller(token(person(Role.COACH, at=team)))
    whole = Caller(token(person(Role.ADMINISTRATOR, at=club.organisation)))
    ItemFactory.create(club=club, team=team)
    ItemFactory.create(club=club)
    ItemFactory.create(club=ClubFactory.create(organisation=club.organisation))
    for address in AUDITS:
        counts = [asked(caller, address)["items"] for caller in (whole, officer, coach)]
        assert counts == [3, 2, 1], address


def test_another_organisation_sees_nothing_and_a_foreign_id_is_as_none(league: League) -> None:
    far = League()
    for address in AUDITS:
        own = asked(far.callers["A"], f"{address}?by=club,team,kind,model")
        assert own["items"] == 1
        assert {row["club"] for row in own["results"]} == {str(far.club.id)}
        for name, foreign in (("club", league.club), ("team", league.team), ("model", league.item.model)):
            answer = asked(far.callers["A"], f"{address}?{name}={foreign.id}")
            assert (answer["items"], answer["results"]) == (0, [])
            assert answer == asked(far.callers["A"], f"{address}?{name}={uuid7()}")


@pytest.mark.parametrize("address", AUDITS)
def test_one_statement_beyond_the_token_answers_however_much_there_is(league: League, address: str) -> None:
    for count in (3, 30):
        for _ in range(count):
            ItemFactory.create(club=league.club, model=league.item.model)
        with CaptureQueriesContext(connection) as captured:
            asked(league.callers["O"], f"{address}?by=club,team,kind,model")
        statements = [each["sql"] for each in captured]
        assert len(statements) == 2, statements
        assert "gearlife_accesstoken" in statements[0]


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("by=size", "by"),
        ("by=club,club", "by"),
        ("by=", "by"),
        ("by=club&by=team", "by"),
        ("on=2026", "on"),
        ("on=2026-02-30", "on"),
        ("on=1899-12-31", "on"),
        ("on=2101-01-01", "on"),
        ("kind=shoe", "kind"),
        ("club=rookmoor", "club"),
        ("page_size=5", "page_size"),
        ("size=M", "size"),
    ],
)
@pytest.mark.parametrize("address", AUDITS)
def test_a_question_that_cannot_be_taken_names_its_place(
    officer: Caller, address: str, query: str, parameter: str
) -> None:
    answer = officer("GET", f"{address}?{query}")
    assert answer.status_code == 400
    assert [error["parameter"] for error in answer.json()["errors"]] == [parameter]


def test_only_limits_have_a_code(officer: Caller) -> None:
    assert officer("GET", "audits/age/?code=age_limit").status_code == 400
    assert officer("GET", "audits/certification/?code=age limit").status_code == 400
    assert officer("GET", "audits/certification/?code=none_such").json()["results"] == []


def test_an_answer_belongs_to_one_credential(officer: Caller) -> None:
    answer = officer("GET", "audits/age/")
    assert answer["Cache-Control"] == "private, no-cache"
    assert "Authorization" in answer["Vary"]


@pytest.mark.parametrize("address", AUDITS)
def test_nothing_is_sent_there(officer: Caller, address: str) -> None:
    assert officer("POST", address, {}).status_code == 405
