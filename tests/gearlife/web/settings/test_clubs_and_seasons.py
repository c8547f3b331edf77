"""Clubs, teams and seasons: a club is set up on pages alone."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Season, Team
from tests.factories import ClubFactory, OrganisationFactory, person
from tests.gearlife.api.league import League
from tests.gearlife.web.settings.acting import form_of, send
from tests.pages import links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def league() -> League:
    return League()


@pytest.fixture
def admin(league: League) -> Client:
    return sign_in(Client(), league.users["A"])


@pytest.fixture
def officer(league: League) -> Client:
    return sign_in(Client(), league.users["O"])


def season_of(league: League) -> Season:
    return Season.objects.get(club=league.club)


class TestSettingUpAClub:
    def test_from_nothing_to_a_season_without_leaving_the_pages(self, league: League, admin: Client) -> None:
        zone = {"name": "Pier Otters", "code": "PO", "timezone": "America/Denver"}
        added = send(admin, "/settings/clubs/add/", **zone)
        club = Club.objects.get(code="PO")
        assert (added.status_code, added["Location"]) == (303, f"/settings/clubs/{club.id}/")
        page = admin.get(added["Location"])
        assert "No team yet." in seen(page)
        assert send(admin, links(page)["Add a team"], name="Seniors", level="16 to 18").status_code == 303
        assert Team.objects.get(club=club).level == "16 to 18"

        seasons = admin.get(links(page)["Seasons"])
        assert f"No season entered for today or later: {club}." in seen(seasons)
        entered = send(
            admin, f"/settings/seasons/add/{club.id}/", year="2026", starts_on="2026-08-01", ends_on="2026-12-01"
        )
        assert entered.status_code == 303
        assert Season.objects.get(club=club).ends_on == date(2026, 12, 1)
        assert "No season entered" not in seen(admin.get("/settings/seasons/"))

    def test_a_code_that_is_taken_is_refused_and_what_was_typed_stays(self, league: League, admin: Client) -> None:
        answer = send(admin, "/settings/clubs/add/", name="Others", code=league.club.code, timezone="America/Chicago")
        assert answer.status_code == 409
        assert "is another club's already" in seen(answer)
        assert form_of(answer).fields["name"] == "Others"

    def test_an_unknown_calendar_is_refused(self, admin: Client) -> None:
        answer = send(admin, "/settings/clubs/add/", name="Others", code="OT", timezone="Chicago")
        assert answer.status_code == 400
        assert "Name a time zone of the IANA database, as America/Chicago." in seen(answer)

    def test_a_form_sent_twice_adds_one(self, league: League, officer: Client) -> None:
        path = f"/settings/clubs/{league.club.id}/add-team/"
        form = form_of(officer.get(path)).fields | {"name": "Fledglings"}
        assert [officer.post(path, form).status_code for _ in range(2)] == [303, 303]
        assert Team.objects.filter(name="Fledglings").count() == 1

    def test_names_change_and_a_second_change_meanwhile_is_told(self, league: League, officer: Client) -> None:
        path = f"/settings/clubs/{league.club.id}/"
        stale = form_of(officer.get(path)).fields
        assert send(officer, path, name="Renamed").status_code == 303
        assert Club.objects.get(id=league.club.id).name == "Renamed"
        answer = officer.post(path, stale | {"name": "Again"})
        assert answer.status_code == 409
        assert "Somebody has changed this meanwhile" in seen(answer)
        assert send(officer, f"/settings/teams/{league.team.id}/", name="Elders").status_code == 303
        assert Team.objects.get(id=league.team.id).name == "Elders"

    def test_the_organisation_is_renamed(self, league: League, admin: Client) -> None:
        assert send(admin, "/settings/organisation/", name="Becks Union").status_code == 303
        assert "Becks Union, with 1 club." in seen(admin.get("/settings/clubs/"))

    def test_an_organisation_without_clubs_is_told_what_comes_first(self, league: League) -> None:
        lone = sign_in(Client(), person(Role.ADMINISTRATOR, at=OrganisationFactory.create()))
        assert "No club yet. Gear, players and seasons are a club's" in seen(lone.get("/settings/clubs/"))
        assert "No club is known yet, and seasons are a club's." in seen(lone.get("/settings/seasons/"))
        assert "No model is known yet." in seen(lone.get("/settings/models/"))


class TestSeasons:
    def test_they_are_told_with_their_last_game_and_windows(self, league: League, officer: Client) -> None:
        season = season_of(league)
        path = f"/settings/seasons/{season.id}/"
        assert send(officer, path, from_0="2026-01-05", to_0="2026-05-30").status_code == 303
        words = seen(officer.get("/settings/seasons/"))
        assert "2026 (runs now) From Aug. 15, 2026 to the last game on Dec. 5, 2026" in words
        assert "Off season, gear can be away: Jan. 5, 2026 to May 30, 2026" in words
        shown = form_of(officer.get(path)).fields
        assert (shown["from_0"], shown["to_0"], shown["from_1"]) == ("2026-01-05", "2026-05-30", "")

    def test_a_later_last_game_moves_what_limits_are_read_to(self, league: League, officer: Client) -> None:
        path = f"/settings/seasons/{season_of(league).id}/"
        assert "Every limit is read to the last game" in seen(officer.get(path))
        revision = Club.objects.get(id=league.club.id).policy_revision
        assert send(officer, path, ends_on="2026-12-19").status_code == 303
        assert season_of(league).ends_on == date(2026, 12, 19)
        assert Club.objects.get(id=league.club.id).policy_revision > revision

    @pytest.mark.parametrize(
        ("typed", "status", "told"),
        [
            ({"ends_on": "2026-08-01"}, 400, "The last game cannot be before the first day of the season."),
            ({"from_0": "2026-01-05"}, 400, "Give both days, or neither."),
            ({"from_0": "2026-05-05", "to_0": "2026-01-05"}, 400, "An off-season window cannot end before it starts."),
            ({"year": "12"}, 400, "Year by which it is called:"),
            ({"starts_on": "2026-02-30"}, 400, "First day:"),
        ],
    )
    def test_what_does_not_fit_is_refused_and_stays_typed(
        self, typed: dict[str, str], status: int, told: str, league: League, officer: Client
    ) -> None:
        answer = send(officer, f"/settings/seasons/{season_of(league).id}/", **typed)
        assert answer.status_code == status
        assert told in seen(answer)
        assert {name: form_of(answer).fields[name] for name in typed} == typed
        assert season_of(league).version == 1

    def test_one_that_overlaps_is_refused_by_name(self, league: League, officer: Client) -> None:
        path = f"/settings/seasons/add/{league.club.id}/"
        answer = send(officer, path, year="2027", starts_on="2026-12-01", ends_on="2027-12-01")
        assert answer.status_code == 409
        assert "It overlaps the season 2026" in seen(answer)

    def test_one_entered_by_mistake_is_taken_back(self, league: League, officer: Client) -> None:
        path = f"/settings/seasons/{season_of(league).id}/"
        assert send(officer, links(officer.get(path))["It was entered by mistake: take it back"]).status_code == 303
        assert not Season.objects.filter(club=league.club).exists()
        words = seen(officer.get("/settings/seasons/"))
        assert "No season entered. Until one is, nobody can say what will outlast the last game" in words
        assert f"No season entered for today or later: {league.club}." in seen(officer.get("/settings/"))

    def test_a_coach_reads_and_is_offered_nothing(self, league: League) -> None:
        page = sign_in(Client(), league.users["C"]).get("/settings/seasons/")
        assert str(league.club) in seen(page)
        assert [text for text in links(page) if text in {"Change", "Enter a season"}] == []

    def test_an_officer_sees_the_own_club_alone(self, league: League, officer: Client) -> None:
        other = ClubFactory.create(organisation=league.organisation)
        for path in ("/settings/seasons/", "/settings/clubs/"):
            assert other.name not in seen(officer.get(path))


def test_the_overview_says_how_each_thing_is(league: League, admin: Client) -> None:
    words = seen(admin.get("/settings/"))
    told: tuple[Any, ...] = (
        "7 rules limit the gear today; none is your own.",
        "1 model is known.",
        "The next last game is on Dec. 5, 2026.",
        "1 club with 1 team.",
        "5 people have an account; 5 have no mail address.",
        "6 tokens count now; the next one ends on Oct. 14, 2027.",
    )
    assert [part for part in told if part not in words] == []
