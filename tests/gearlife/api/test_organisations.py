"""Clubs, teams and seasons over the API; a season moves every limit of its club."""

from typing import Any

import pytest

from gearlife.models import Item, LedgerEvent, Season
from tests.factories import AT, ClubFactory, ItemFactory
from tests.gearlife.api.base_probe import names, pointers
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def league() -> League:
    return League()


def limit_in_season_years(league: League) -> Any:
    clocks = league.callers["O"]("GET", f"items/{league.item.id}/").json()["clocks"]
    return next(clock["falls_on"] for clock in clocks if clock["code"] == "recertification_limit")


def test_an_organisation_is_read_and_renamed_by_its_own_people(league: League) -> None:
    [own] = league.callers["O"]("GET", "organisations/").json()["results"]
    answer = league.callers["A"]("PATCH", f"organisations/{own['id']}/", {"name": "Lakes"}, If_Match="*")
    assert (own["id"], answer.json()["name"]) == (str(league.organisation.id), "Lakes")


def test_a_club_needs_a_code_of_its_own_and_a_time_zone_that_there_is(league: League) -> None:
    body = {"name": "Upper Mill", "code": "UM", "timezone": "America/Denver"}
    made = league.callers["A"]("POST", "clubs/", body)
    taken = league.callers["A"]("POST", "clubs/", body)
    nowhere = league.callers["A"]("POST", "clubs/", body | {"code": "X", "timezone": "Mars/Base"})

    assert (made.status_code, made.json()["code"]) == (201, "UM")
    assert (taken.status_code, taken.json()["code"]) == (409, "name_taken")
    assert (nowhere.status_code, pointers(nowhere)) == (400, {"/timezone"})


def test_a_club_on_another_calendar_counts_its_looks_by_it(league: League) -> None:
    """Kiritimati is 14 hours ahead of UTC (IANA time zone database), Pago Pago 11 behind."""
    Item.objects.filter(id=league.item.id).update(last_full_inspection_at=AT)
    address, anchors = f"clubs/{league.club.id}/", []
    for zone in ("Pacific/Kiritimati", "Pacific/Pago_Pago"):
        assert league.callers["O"]("PATCH", address, {"timezone": zone}, If_Match="*").status_code == 200
        clocks = league.callers["O"]("GET", f"items/{league.item.id}/").json()["clocks"]
        anchors += [clock["anchor_on"] for clock in clocks if clock["code"] == "full_inspection"]

    # Never before the day on which it was taken in.
    assert anchors == ["2026-10-15", "2026-10-14"]


def test_a_team_is_added_and_renamed(league: League) -> None:
    body = {"club": str(league.club.id), "name": "Juniors"}
    made = league.callers["O"]("POST", "teams/", body).json()
    changed = league.callers["O"]("PATCH", f"teams/{made['id']}/", {"level": "under 15"}, If_Match="*").json()
    taken = league.callers["O"]("POST", "teams/", body)

    assert (changed["name"], changed["level"], taken.status_code) == ("Juniors", "under 15", 409)


def test_an_officer_adds_no_team_to_a_club_of_others(league: League) -> None:
    other = ClubFactory.create(organisation=league.organisation)
    answer = league.callers["O"]("POST", "teams/", {"club": str(other.id), "name": "x"})
    assert (answer.status_code, pointers(answer)) == (400, {"/club"})


def test_a_season_that_is_entered_moved_and_removed_moves_the_limits(league: League) -> None:
    """Season years: made in 2026, ten of them end with the last game of the season 2035."""
    body = {"club": str(league.club.id), "year": 2035, "starts_on": "2035-08-15", "ends_on": "2035-12-08"}
    assert limit_in_season_years(league) == "2036-01-01"

    made = league.callers["O"]("POST", "seasons/", body).json()
    entered = limit_in_season_years(league)
    address = f"seasons/{made['id']}/"
    moved = league.callers["O"]("PATCH", address, {"ends_on": "2035-12-15"}, If_Match="*")
    after = limit_in_season_years(league)
    removed = league.callers["O"]("DELETE", address, If_Match=moved["ETag"])

    assert (entered, after, removed.status_code) == ("2035-12-09", "2035-12-16", 204)
    assert limit_in_season_years(league) == "2036-01-01"
    told = LedgerEvent.objects.filter(organisation=league.organisation, action__startswith="season").order_by("seq")
    assert list(told.values_list("action", flat=True))[-3:] == ["season_entered", "season_changed", "season_removed"]


def test_a_season_keeps_the_day_of_its_first_contact_inside_itself(league: League) -> None:
    address = f"seasons/{league.rows['seasons'].pk}/"
    ask = league.callers["O"]
    kept = ask("PATCH", address, {"first_contact_on": "2026-08-29"}, If_Match="*").json()
    refused = ask("PATCH", address, {"first_contact_on": "2026-12-24"}, If_Match="*")

    assert kept["first_contact_on"] == "2026-08-29"
    assert (refused.status_code, pointers(refused)) == (400, {"/first_contact_on"})


def test_seasons_keep_their_off_season_windows(league: League) -> None:
    windows = [{"starts_on": "2027-01-05", "ends_on": "2027-03-31"}]
    address = f"seasons/{Season.objects.get(club=league.club).id}/"
    kept = league.callers["O"]("PATCH", address, {"off_season_windows": windows}, If_Match="*").json()
    broken = [{"starts_on": "2027-03-31", "ends_on": "2027-01-05"}]
    refused = league.callers["O"]("PATCH", address, {"off_season_windows": broken}, If_Match="*")

    assert kept["off_season_windows"] == windows
    assert (refused.status_code, pointers(refused)) == (400, {"/off_season_windows/0/ends_on"})


@pytest.mark.parametrize(
    ("days", "status"),
    [(("2027-12-01", "2027-08-01"), 400), (("2026-11-01", "2027-01-01"), 409)],
)
def test_a_season_that_ends_before_it_starts_or_overlaps_is_refused(
    league: League, days: tuple[str, str], status: int
) -> None:
    body = {"club": str(league.club.id), "year": 2027, "starts_on": days[0], "ends_on": days[1]}
    assert league.callers["O"]("POST", "seasons/", body).status_code == status


def test_without_a_season_the_records_are_to_be_checked(league: League) -> None:
    club = ClubFactory.create(organisation=league.organisation, in_season=False)
    item = ItemFactory.create(club=club)
    row = league.callers["A"]("GET", f"items/{item.id}/").json()
    alerts = league.callers["A"]("GET", f"alerts/?club={club.id}&kind=no_season").json()["results"]

    assert "no_season" in {warning["code"] for warning in row["warnings"]}
    assert [alert["advice"] for alert in alerts] == ["check_records"]


def test_clubs_and_teams_are_listed_by_name(league: League) -> None:
    for name in ("Zinc Bend", "Alder Bend"):
        ClubFactory.create(organisation=league.organisation, name=name)
    listed = names(league.callers["A"]("GET", "clubs/").json()["results"])

    assert listed == sorted(listed)
    assert names(league.callers["A"]("GET", f"clubs/?code={league.club.code}").json()["results"]) == [league.club.name]
