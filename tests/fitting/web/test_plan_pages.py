"""The pages of plans: who may ask for one, what the fitting list says and to whom, and what applying it says."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from fitting.domain.vocabulary import BodyChange
from fitting.models import AllocationPlan, SetAside, SizeChart
from fitting.operations.fits import report_change
from fitting.operations.plans import apply_plan
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Team
from gearlife.operations import items
from tests.factories import ClubFactory, TeamFactory, fitted, later, put_on, stamp
from tests.fitting.club_to_plan import ToPlan, measure
from tests.fitting.web.conftest import Browse
from tests.pages import fields, links, seen

pytestmark = pytest.mark.django_db


def asked(browser: Client, place: Any, **typed: str) -> Any:
    """The form as it stands, for a place, sent."""
    form = fields(browser.get("/plan/"))
    return browser.post("/plan/", {**form, "for": str(place), **typed})


def only_plan() -> AllocationPlan:
    return AllocationPlan.objects.get()


def test_an_officer_plans_a_team_from_the_page(here: ToPlan, browser: Client, team: Team) -> None:
    here.player(jersey_number=12, given_name="Ada", family_name="Brook")
    helmet = here.helmet()
    answer = asked(browser, team.id, kind="helmet")
    plan = only_plan()
    assert (answer.status_code, answer["Location"]) == (303, f"/plan/{plan.id}/")
    assert (plan.team_id, plan.kind, plan.planned) == (team.id, "helmet", 1)
    page = seen(browser.get(f"/plan/{plan.id}/")).replace(" ,", ",")
    assert "1 item is planned for a player." in page
    assert f"12 Ada Brook helmet: {helmet.serial}, Lantern, size M" in page
    assert "Size M of Lantern: likely." in page


def test_a_second_tap_makes_no_second_plan(here: ToPlan, browser: Client, team: Team) -> None:
    here.player()
    form = fields(browser.get("/plan/")) | {"for": str(team.id)}
    assert [browser.post("/plan/", form).status_code for _ in range(2)] == [303, 303]
    assert AllocationPlan.objects.count() == 1


def test_a_club_may_be_planned_whole_with_weights_of_its_own(here: ToPlan, browser: Client, club: Club) -> None:
    here.player()
    asked(browser, club.id, size="7", spare_percent="0")
    assert (only_plan().team_id, only_plan().kind) == (None, "")
    assert only_plan().weights == {"size": 7, "keep": 40, "age": 10, "spare": 30, "spare_percent": 0, "position": 20}


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"for": ""}, "Choose for whom the plan is."),
        ({"size": "101"}, "The likeliest size is no number from 0 to 100."),
        ({"spare_percent": "51"}, "How many spares, in percent of each size is no number from 0 to 50."),
        ({}, "There are no players to plan for"),
    ],
)
def test_what_cannot_be_planned_is_said_and_what_was_typed_stays(
    browser: Client, team: Team, typed: dict[str, str], words: str
) -> None:
    answer = asked(browser, team.id, kind="helmet", **typed)
    assert answer.status_code in {400, 409}
    assert "No plan was made." in seen(answer)
    assert words in seen(answer)
    assert fields(answer)["kind"] == "helmet"
    assert AllocationPlan.objects.count() == 0


def test_only_an_administrator_is_offered_the_whole_organisation(here: ToPlan, browse: Browse, club: Club) -> None:
    here.player()
    officer, administrator = browse(Role.OFFICER, club), browse(Role.ADMINISTRATOR, club.organisation)
    assert "the whole organisation" not in seen(officer.get("/plan/"))
    assert asked(officer, "organisation").status_code == 403
    assert "the whole organisation" in seen(administrator.get("/plan/"))
    assert asked(administrator, "organisation").status_code == 303


def test_another_clubs_officer_finds_neither_the_plan_nor_the_team(here: ToPlan, browse: Browse, now: Stamp) -> None:
    here.player(family_name="Brook")
    plan = here.plan(now)
    other = browse(Role.OFFICER, ClubFactory.create(organisation=here.club.organisation))
    assert other.get(f"/plan/{plan.id}/").status_code == 404
    assert other.post(f"/plan/{plan.id}/", {"way": "apply"}).status_code == 404
    assert asked(other, here.team and here.team.id).status_code == 404
    assert "no plan was made yet" in seen(other.get("/plan/")).lower()


def test_a_coach_and_an_auditor_read_and_do_not_plan(here: ToPlan, browse: Browse, now: Stamp) -> None:
    here.player(family_name="Brook")
    here.helmet()
    plan = here.plan(now)
    for reader in (browse(Role.COACH, here.team), browse(Role.AUDITOR, here.club.organisation)):  # type: ignore[arg-type] # a team
        page = reader.get(f"/plan/{plan.id}/")
        assert "Brook" in seen(page)
        assert fields(page) == {}
        assert fields(reader.get("/plan/")) == {}
        assert asked(reader, here.club.id).status_code == 403
        assert reader.post(f"/plan/{plan.id}/", {"way": "apply"}).status_code == 403


def test_a_coach_sees_of_a_clubs_plan_the_own_team_alone(here: ToPlan, browse: Browse, now: Stamp, team: Team) -> None:
    here.player(family_name="Brook")
    here.player(family_name="Fen", team=TeamFactory.create(club=here.club))
    plan = here.plan(now, team=None, club=here.club)
    page = seen(browse(Role.COACH, team).get(f"/plan/{plan.id}/"))
    assert ("Brook" in page, "Fen" in page, "What is short" in page) == (True, False, False)


def test_the_list_goes_by_team_and_number(here: ToPlan, browser: Client, now: Stamp) -> None:
    for number in (40, 7, 12):
        here.player(jersey_number=number, family_name=f"N{number}x")
    page = seen(browser.get(f"/plan/{here.plan(now).id}/"))
    assert page.index("N7x") < page.index("N12x") < page.index("N40x")


def test_what_is_short_and_who_is_left_is_said(here: ToPlan, browser: Client, now: Stamp) -> None:
    here.player("L", family_name="Brook")
    here.player(None, family_name="Fen")
    served = here.player("M", family_name="Heath")
    here.helmet("M")
    address = f"/plan/{here.plan(now).id}/"
    page = seen(browser.get(address))
    assert "1 short of size L in models with air liner (Lantern)" in page
    assert "Needs size L in models with air liner (Lantern): none may go out now." in page
    assert "Not measured: no head circumference is recorded. Measure first." in page
    without = seen(browser.get(f"{address}?only=without"))
    assert served.family_name not in without
    assert "Brook" in without


def test_applying_sets_aside_and_leads_to_handing_out(here: ToPlan, browser: Client, now: Stamp) -> None:
    player, helmet = here.player(), here.helmet()
    address = f"/plan/{here.plan(now).id}/"
    assert fields(browser.get(address))["way"] == "apply"
    assert browser.post(address, {"way": "apply"}).status_code == 303
    page = browser.get(address)
    assert "What holds is set aside" in seen(page)
    assert f"/gear/{helmet.id}/hand-out/?player={player.id}" in links(page).values()
    assert fields(page)["way"] == "put-back"
    assert browser.post(address, {"way": "put-back"}).status_code == 303
    assert "has been put back" in seen(browser.get(address))
    assert SetAside.objects.open().count() == 0


def test_a_line_that_no_longer_holds_says_why(here: ToPlan, browser: Client, now: Stamp) -> None:
    here.player()
    helmet = here.helmet()
    plan = here.plan(now)
    items.retire(item=helmet, reason="old", on=None, stamp=now)
    browser.post(f"/plan/{plan.id}/", {"way": "apply"})
    page = seen(browser.get(f"/plan/{plan.id}/"))
    assert "1 line no longer holds and was left out." in page
    assert "Not set aside. It was retired on Oct. 14, 2026." in page


def test_handing_out_says_that_it_is_set_aside_for_another_and_nothing_to_the_one(
    here: ToPlan, browser: Client, now: Stamp
) -> None:
    player, helmet = here.player(jersey_number=12, family_name="Brook"), here.helmet()
    other = here.player(None)
    apply_plan(plan=here.plan(now), stamp=now)
    warned = seen(browser.get(f"/gear/{helmet.id}/hand-out/?player={other.id}"))
    assert "It is set aside for 12 Brook" in warned
    assert "set aside" not in seen(browser.get(f"/gear/{helmet.id}/hand-out/?player={player.id}"))


def test_a_plan_that_waits_says_so_and_takes_no_act(
    here: ToPlan, browser: Client, now: Stamp, monkeypatch: Any
) -> None:
    monkeypatch.setattr("fitting.operations.plans.making.MOST_AT_ONCE", 0)
    here.player()
    plan = here.plan(now)
    page = browser.get(f"/plan/{plan.id}/")
    assert "The plan is being made." in seen(page)
    assert fields(page) == {}
    assert "is being made" in seen(browser.get("/plan/"))
    assert browser.post(f"/plan/{plan.id}/", {"way": "apply"}).status_code == 409


def test_no_page_of_a_plan_shows_a_measurement(here: ToPlan, browser: Client, now: Stamp) -> None:
    measure(here.player(None), 567.3)
    here.helmet()
    plan = here.plan(now)
    content = browser.get(f"/plan/{plan.id}/").content.decode() + browser.get("/plan/").content.decode()
    assert [figure for figure in ("567.3", "56.7", "22.3", "566.8") if figure in content] == []


def test_the_list_asks_as_much_for_many_players_as_for_few(here: ToPlan, browser: Client, now: Stamp) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(f"/plan/{plan.id}/").status_code == 200
        return len(captured)

    here.player(), here.helmet()
    plan = here.plan(now)
    queries()
    few = queries()
    for _ in range(12):
        here.player(), here.helmet()
    plan = here.plan(now)
    assert queries() == few


def test_the_latest_plans_are_listed_with_what_came_of_them(here: ToPlan, browser: Client, now: Stamp) -> None:
    here.player(), here.player("L"), here.helmet()
    apply_plan(plan=here.plan(now), stamp=now)
    page = seen(browser.get("/plan/"))
    assert "1 item planned, 1 player left without, set aside" in page


def test_another_organisation_sees_none_of_it(here: ToPlan, browse: Browse, now: Stamp) -> None:
    here.player()
    plan = here.plan(now)
    stranger = browse(Role.ADMINISTRATOR, ClubFactory.create().organisation)
    assert stranger.get(f"/plan/{plan.id}/").status_code == 404
    assert stamp(here.club.organisation).actor.organisation_id == plan.organisation_id


def test_who_has_what_lasts_is_left_out_of_the_list_unless_everybody_is_asked_for(
    here: ToPlan, browser: Client, now: Stamp
) -> None:
    put_on(here.helmet(), here.player(family_name="Brook"))
    here.player(family_name="Fen")
    address = f"/plan/{here.plan(now).id}/"
    assert "Brook" not in seen(browser.get(address))
    everybody = seen(browser.get(f"{address}?only=all"))
    assert ("Brook" in everybody, "Fen" in everybody, "Has one already" in everybody) == (True, True, True)


def test_who_is_not_measured_or_fits_no_row_of_a_chart_stands_there_with_the_reason(
    here: ToPlan, browser: Client, team: Team
) -> None:
    here.player(None, jersey_number=7, given_name="Cal", family_name="Dorn")
    measure(here.player(None, jersey_number=8, given_name="Eli", family_name="Frost"), 660)
    here.helmet()
    asked(browser, team.id, kind="helmet")
    page = seen(browser.get(f"/plan/{only_plan().id}/?only=without"))
    assert "Not measured: no head circumference is recorded. Measure first." in page
    assert "No size of the club's helmets goes with the measures: measure again, or look at the charts." in page
    assert page.index("Cal Dorn") < page.index("Eli Frost")


def test_a_plan_that_is_too_large_says_so_and_the_way_out(
    here: ToPlan, browser: Client, team: Team, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fitting.domain.matching.MOST_DENSE_CELLS", 0)
    monkeypatch.setattr("fitting.domain.allocation.MOST_PAIRS", 0)
    monkeypatch.setattr("fitting.domain.by_sizes.MOST_CHOICES", 0)
    here.player()
    here.helmet()
    refused = asked(browser, team.id, kind="helmet")
    assert refused.status_code == 400
    assert "choose a team instead of the club" in seen(refused)
    assert not AllocationPlan.objects.exists()


def test_a_line_says_that_the_pair_was_never_fitted_or_that_the_fit_is_stale_and_nothing_of_a_current_one(
    here: ToPlan, browser: Client, now: Stamp
) -> None:
    player, helmet = here.player(), here.helmet()
    plan = here.plan(now)
    assert "Not fitted on this player yet." in seen(browser.get(f"/plan/{plan.id}/"))
    fitted(helmet, player)
    fit_said = seen(browser.get(f"/plan/{plan.id}/"))
    assert not any(words in fit_said for words in ("Not fitted", "fitted anew"))
    report_change(player=player, kind=BodyChange.HAIRCUT, on=None, stamp=later(now, hours=1))

    assert "to be fitted anew: The player's hair has been cut" in seen(browser.get(f"/plan/{plan.id}/"))


def test_a_line_says_that_the_model_is_made_for_other_positions(here: ToPlan, browser: Client, now: Stamp) -> None:
    here.player(position="kicker"), here.helmet()
    SizeChart.objects.update(positions=["lineman"])
    plan = here.plan(now)

    assert "Made for lineman, not for the player's position (kicker)." in seen(browser.get(f"/plan/{plan.id}/"))
