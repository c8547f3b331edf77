"""Measuring on pages: one player, a team one after the other, and how exactly the club measures."""

from typing import Any

import pytest
from django.test import Client

from fitting.models import Measurement, MeasurementRead, Player
from gearlife.domain.vocabulary import Role, Units
from gearlife.models import Club, Team, User
from tests.factories import ClubFactory, PlayerFactory, TeamFactory, person
from tests.fitting.web.conftest import Browse
from tests.pages import fields, links, seen

pytestmark = pytest.mark.django_db
HEAD = "head_circumference"


def page(player: Player) -> str:
    return f"/players/{player.id}/measurements/"


def typed(browser: Client, address: str, **values: str) -> dict[str, Any]:
    return fields(browser.get(address)) | values


def keep(browser: Client, player: Player, **values: str) -> Any:
    return browser.post(page(player), typed(browser, page(player), **values))


def test_two_readings_in_inches_are_kept_to_a_tenth_of_a_millimetre(browser: Client, player: Player) -> None:
    answer = keep(browser, player, **{f"{HEAD}_1": "22 3/8", f"{HEAD}_2": "22 7/16"})
    kept = Measurement.objects.get()
    shown = seen(browser.get(answer["Location"]))

    assert (answer.status_code, kept.readings_mm) == (303, [568.3, 569.9])
    assert (kept.protocol, kept.tape) == ("finger_above_brows", "cloth")
    assert "round the head: 22 3/8 in , US hat size 7 1/8" in shown
    assert "Read: 22 3/8 in; 22 7/16 in" in shown


def test_centimetres_are_read_and_shown_to_whoever_prefers_them(browser: Client, player: Player) -> None:
    User.objects.update(units=Units.CENTIMETRES.value)
    keep(browser, player, **{f"{HEAD}_1": "57,2", f"{HEAD}_2": "22 1/2 in"})
    assert Measurement.objects.get().readings_mm == [572, 571.5]
    assert "round the head: 57.2 cm" in seen(browser.get(page(player)))


def test_one_reading_is_kept_and_marked(browser: Client, player: Player) -> None:
    answer = keep(browser, player, **{f"{HEAD}_1": "22"})
    shown = seen(browser.get(answer["Location"]))
    assert Measurement.objects.count() == 1
    assert shown.count("One reading: try both sizes.") == 2


def test_a_third_is_asked_for_before_anything_is_kept(browser: Client, player: Player) -> None:
    asked = keep(browser, player, **{f"{HEAD}_1": "22", f"{HEAD}_2": "22 1/2"})
    assert (asked.status_code, Measurement.objects.count()) == (409, 0)
    assert "the two readings lie too far apart: take a third." in seen(asked)
    third = browser.post(page(player), fields(asked) | {f"{HEAD}_3": "22 1/16"})
    assert (third.status_code, Measurement.objects.get().readings_mm) == (303, [558.8, 571.5, 560.4])


def test_doubts_are_shown_first_and_it_is_kept_all_the_same(browser: Client, player: Player) -> None:
    keep(browser, player, **{f"{HEAD}_1": "22", f"{HEAD}_2": "22 1/16"})
    doubted = keep(browser, player, **{f"{HEAD}_1": "23", f"{HEAD}_2": "23 1/16"})
    assert (doubted.status_code, Measurement.objects.count()) == (409, 1)
    assert "more likely hair, tape or its place than growth" in seen(doubted)
    assert fields(doubted)[f"{HEAD}_1"] == "23"
    kept = browser.post(page(player), fields(doubted) | {"anyway": "yes"})
    assert (kept.status_code, Measurement.objects.count()) == (303, 2)


@pytest.mark.parametrize(
    ("text", "way_out"),
    [("0.57", "it looks like metres"), ("570", "it looks like millimetres")],
)
def test_a_length_in_another_unit_is_named_by_its_field_and_not_repeated(
    browser: Client, player: Player, text: str, way_out: str
) -> None:
    refused = keep(browser, player, **{f"{HEAD}_1": text})
    said = seen(refused)
    assert (refused.status_code, Measurement.objects.count()) == (400, 0)
    assert f"Round the head, reading 1: as inches this fits nobody: {way_out}" in said


def test_a_slip_among_three_readings_is_left_out(browser: Client, player: Player) -> None:
    slip = {f"{HEAD}_1": "22", f"{HEAD}_2": "26", f"{HEAD}_3": "22 1/16"}
    assert keep(browser, player, **slip).status_code == 303
    assert "round the head: 22 in ," in seen(browser.get(page(player)))


@pytest.mark.parametrize("text", ["abc", "-22", "5", "NaN", "22 9/8"])
def test_what_is_no_length_is_refused_by_its_field(browser: Client, player: Player, text: str) -> None:
    refused = keep(browser, player, **{f"{HEAD}_1": "22", f"{HEAD}_2": text})
    assert refused.status_code == 400
    assert "Round the head, reading 2:" in seen(refused)
    assert fields(refused)[f"{HEAD}_1"] == "22"


def test_nothing_and_a_day_to_come_are_refused(browser: Client, player: Player) -> None:
    assert "type at least one reading" in seen(keep(browser, player))
    late = keep(browser, player, taken_on="2026-10-15", **{f"{HEAD}_1": "22"})
    assert (late.status_code, Measurement.objects.count()) == (400, 0)


def test_a_wrong_one_is_removed(browser: Client, player: Player) -> None:
    keep(browser, player, **{f"{HEAD}_1": "22"})
    answer = browser.post(page(player), {"remove": str(Measurement.objects.get().id)})
    assert (answer.status_code, Measurement.objects.count()) == (303, 0)
    assert "Nothing has been measured yet." in seen(browser.get(page(player)))


def test_each_look_is_written_down(browser: Client, player: Player) -> None:
    browser.get(page(player))
    assert MeasurementRead.objects.count() == 0
    keep(browser, player, **{f"{HEAD}_1": "22"})
    MeasurementRead.objects.all().delete()
    browser.get(page(player))
    assert MeasurementRead.objects.get().player_id == player.id


@pytest.mark.parametrize("role", [Role.COACH, Role.AUDITOR])
def test_coaches_and_auditors_may_not_look(browse: Browse, player: Player, team: Team, role: Role) -> None:
    client = browse(role, team if role is Role.COACH else team.club.organisation)
    for address in (page(player), f"/measuring/{team.id}/", "/measuring/"):
        assert client.get(address).status_code == 403
    assert "Measurements" not in links(client.get(f"/players/{player.id}/"))
    assert "Sizes" in links(client.get(f"/players/{player.id}/"))


def test_another_clubs_players_are_not_there(browser: Client, club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation)
    theirs = PlayerFactory.create(club=other, team=TeamFactory.create(club=other))
    assert browser.get(page(theirs)).status_code == 404
    assert browser.get(f"/measuring/{theirs.team_id}/").status_code == 404


def test_a_team_is_measured_one_after_the_other(browser: Client, team: Team, player: Player) -> None:
    second = PlayerFactory.create(club=team.club, team=team, jersey_number=12)
    first = PlayerFactory.create(club=team.club, team=team, jersey_number=4)
    sheet = f"/measuring/{team.id}/"
    opened = browser.get(sheet)
    assert f"4 {first.given_name} {first.family_name}" in seen(opened)
    order = []
    address = sheet
    for number in range(3):
        form = fields(browser.get(address))
        order.append(form["player"])
        answer = browser.post(sheet, form | {f"{HEAD}_1": f"22 {number + 1}/16"})
        address = answer["Location"]

    assert order == [str(first.id), str(second.id), str(player.id)]
    assert "3 of 3 players have been measured today." in seen(browser.get(address))
    assert "Everybody on this sheet has been measured today." in seen(browser.get(sheet))


def test_the_sheet_shows_days_and_no_measurement(browser: Client, team: Team, player: Player) -> None:
    keep(browser, player, **{f"{HEAD}_1": "22 3/8"})
    browser.get(page(player))  # takes away what was told
    MeasurementRead.objects.all().delete()
    shown = seen(browser.get(f"/measuring/{team.id}/?player={player.id}"))
    assert "10/14/2026" in shown
    assert "22 3/8 in" not in shown.replace("22 3/8. Centimetres", "")
    assert MeasurementRead.objects.count() == 0


def test_a_player_of_another_team_is_not_on_the_sheet(browser: Client, team: Team) -> None:
    stranger = PlayerFactory.create(club=team.club)
    assert browser.get(f"/measuring/{team.id}/?player={stranger.id}").status_code == 404


def test_the_sheet_takes_as_many_queries_for_many_as_for_few(
    browser: Client, team: Team, django_assert_max_num_queries: Any
) -> None:
    for _ in range(30):
        PlayerFactory.create(club=team.club, team=team)
    with django_assert_max_num_queries(16):
        browser.get(f"/measuring/{team.id}/")


def test_an_empty_team_says_what_comes_next(browser: Client, team: Team) -> None:
    assert "This team has no players yet." in seen(browser.get(f"/measuring/{team.id}/"))


def test_the_clubs_error_is_shown_with_its_pairs(browser: Client, player: Player) -> None:
    assert "Nothing has been read twice yet" in seen(browser.get("/measuring/"))
    keep(browser, player, **{f"{HEAD}_1": "57.2 cm", f"{HEAD}_2": "57.0 cm"})
    # One pair 2 mm apart: sqrt(4 / 2) = 1.4 mm.
    assert "round the head everybody 1.4 1" in seen(browser.get("/measuring/"))


def test_another_of_the_clubs_people_may_have_held_the_tape_and_the_error_is_theirs(
    browser: Client, club: Club, team: Team, player: Player
) -> None:
    coach = person(Role.COACH, at=team)
    strangers = [
        person(Role.OFFICER, at=ClubFactory.create(organisation=club.organisation)),
        person(Role.OFFICER, at=club, is_device=True),
        person(Role.OFFICER, at=ClubFactory.create()),
    ]
    shown = seen(browser.get(page(player)))
    assert coach.username in shown
    assert not any(each.username in shown for each in strangers)
    mine = keep(browser, player, **{f"{HEAD}_1": "57 cm", f"{HEAD}_2": "57.2 cm"})
    theirs = keep(browser, player, **{f"{HEAD}_1": "57 cm", f"{HEAD}_2": "57.1 cm", "measured_by": str(coach.id)})
    refused = [
        keep(browser, player, **{f"{HEAD}_1": "57 cm", f"{HEAD}_2": "57.2 cm", "measured_by": wrong})
        for wrong in (*(str(each.id) for each in strangers), "x")
    ]
    held = Measurement.objects.order_by("recorded_at", "id").values_list("measured_by__username", flat=True)

    assert (mine.status_code, theirs.status_code) == (303, 303)
    assert [each.status_code for each in refused] == [400] * 4
    assert "Name somebody of this club." in seen(refused[0])
    assert held.count() == 2
    assert coach.username in held
