"""Plans over the API: the contract of a plan, who sees which part of it, and applying it twice."""

from typing import Any

import pytest

from fitting.models import AllocationPlan, Player, SizeChart
from fitting.operations.plans import apply_plan
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Team
from gearlife.operations import items
from tests.factories import ClubFactory, TeamFactory, fitted, person, token
from tests.fitting.club_to_plan import ToPlan, measure
from tests.fitting.conftest import caller
from tests.gearlife.api.base_probe import Caller


@pytest.fixture
def administrator(club: Club, standing_clock: None) -> Caller:
    return Caller(token(person(Role.ADMINISTRATOR, at=club.organisation)))


def made(by: Caller, **body: Any) -> Any:
    """A plan that was made, as it is answered."""
    answer = by("POST", "allocation-plans/", body)
    assert answer.status_code == 201, answer.content
    return answer.json()


def test_a_plan_says_who_gets_what_and_what_is_short(here: ToPlan, officer: Caller, team: Team) -> None:
    served, left, helmet = here.player("M"), here.player("L"), here.helmet("M")
    plan = made(officer, team=str(team.id), kind="helmet")
    lines = {line["player"]: line for line in plan["lines"]}
    assert (plan["state"], plan["planned"], plan["without"], plan["lines_in_all"]) == ("made", 1, 1, 2)
    assert (plan["club"], plan["team"], plan["season"]) == (str(here.club.id), str(team.id), None)
    line = lines[str(served.id)]
    assert (line["item"], line["size"], line["likelihood"], line["state"]) == (str(helmet.id), "M", "likely", "open")
    assert (lines[str(left.id)]["outcome"], lines[str(left.id)]["item"]) == ("short", None)
    [short] = [each for each in plan["short"] if not each["for_spares"]]
    assert (short["count"], short["sizes"][0]["size"], short["sizes"][0]["liner"]) == (1, "L", "air")


def test_no_number_of_a_measurement_is_in_a_plan(here: ToPlan, officer: Caller, team: Team) -> None:
    measure(here.player(None), 567.3)
    here.helmet()
    made(officer, team=str(team.id))
    every = "".join(
        officer("GET", address).content.decode() for address in ("allocation-plans/", "plan-lines/", "set-asides/")
    )
    assert [figure for figure in ("567.3", "566.8", "probability") if figure in every] == []


def test_the_same_plan_is_made_once_under_one_id(here: ToPlan, officer: Caller, team: Team) -> None:
    here.player()
    id_, body = uuid7(), {"team": str(team.id), "weights": {"keep": 0}}
    statuses = [officer("PUT", f"allocation-plans/{id_}/", body).status_code for _ in range(2)]
    assert (statuses, AllocationPlan.objects.count()) == ([201, 200], 1)
    assert officer("PUT", f"allocation-plans/{id_}/", {"team": str(team.id)}).status_code == 409


def test_applying_sets_aside_once_and_says_what_does_not_hold(here: ToPlan, officer: Caller, now: Stamp) -> None:
    first, second = here.player("M"), here.player("L")
    retired, helmet = here.helmet("M"), here.helmet("L")
    plan = made(officer, club=str(here.club.id), kind="helmet")
    items.retire(item=retired, reason="old", on=None, stamp=now)
    address = f"allocation-plans/{plan['id']}/apply/"
    answers = [officer("POST", address, {}) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    lines = {line["player"]: line for line in answers[1].json()["lines"]}
    assert answers[1].json()["state"] == "applied"
    assert lines[str(second.id)]["state"] == "set_aside"
    assert (lines[str(first.id)]["state"], "retired" in lines[str(first.id)]["state_because"]) == ("not_valid", True)
    [kept] = officer("GET", "set-asides/?open=true").json()["results"]
    assert (kept["item"], kept["player"], kept["plan"]) == (str(helmet.id), str(second.id), plan["id"])
    assert officer("GET", "assignments/").json()["results"] == []
    warnings = officer("GET", f"items/{helmet.id}/").json()["warnings"]
    assert "set_aside" in {warning["code"] for warning in warnings}
    assert officer("POST", f"allocation-plans/{plan['id']}/put-back/", {}).status_code == 200
    assert officer("GET", "set-asides/?open=true").json()["results"] == []


def test_an_officer_plans_the_own_club_and_no_other_and_never_all(here: ToPlan, officer: Caller) -> None:
    here.player()
    other = ClubFactory.create(organisation=here.club.organisation)
    assert officer("POST", "allocation-plans/", {"club": str(other.id)}).status_code == 400
    refused = officer("POST", "allocation-plans/", {"whole_organisation": True})
    assert (refused.status_code, "administrator" in refused.json()["detail"]) == (403, True)


def test_an_administrator_plans_the_organisation_and_officers_see_their_part(
    here: ToPlan, officer: Caller, administrator: Caller
) -> None:
    mine, theirs = here.player("L"), ToPlan(ClubFactory.create(organisation=here.club.organisation)).player()
    here.helmet("M")
    plan = made(administrator, kind="helmet", whole_organisation=True)
    assert {line["player"] for line in plan["lines"]} == {str(mine.id), str(theirs.id)}
    seen = officer("GET", f"allocation-plans/{plan['id']}/").json()
    assert {line["player"] for line in seen["lines"]} == {str(mine.id)}
    assert {each["club"] for each in seen["short"]} == {str(here.club.id)}
    assert officer("POST", f"allocation-plans/{plan['id']}/apply/", {}).status_code == 403


def test_a_coach_sees_the_own_teams_lines_and_sizes(here: ToPlan, coach: Caller, officer: Caller) -> None:
    mine, other = here.player(), here.player("L", team=TeamFactory.create(club=here.club))
    here.helmet()
    plan = made(officer, club=str(here.club.id), kind="helmet")
    seen = coach("GET", f"allocation-plans/{plan['id']}/").json()
    assert [(line["player"], line["size"]) for line in seen["lines"]] == [(str(mine.id), "M")]
    assert (seen["short"], seen["notes"]) == ([], [])
    assert coach("GET", f"plan-lines/?player={other.id}").json()["results"] == []
    assert coach("POST", "allocation-plans/", {"club": str(here.club.id)}).status_code == 403


def test_a_coach_of_another_club_sees_no_plan_of_this_one(here: ToPlan, officer: Caller) -> None:
    here.player()
    plan = made(officer, club=str(here.club.id))
    stranger = caller(Role.COACH, TeamFactory.create(club=ClubFactory.create(organisation=here.club.organisation)))
    assert stranger("GET", f"allocation-plans/{plan['id']}/").status_code == 404


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"weights": {"size": 101}}, "/weights/size"),
        ({"weights": {"size": True}}, "/weights/size"),
        ({"weights": {"size": "5"}}, "/weights/size"),
        ({"weights": {"spare_percent": 51}}, "/weights/spare_percent"),
        ({"weights": {"luck": 1}}, "/weights/luck"),
        ({"kind": "cleats"}, "/kind"),
        ({"season": str(uuid7())}, "/season"),
    ],
)
def test_what_cannot_be_is_refused_at_its_place(here: ToPlan, officer: Caller, body: Any, pointer: str) -> None:
    here.player()
    answer = officer("POST", "allocation-plans/", {"club": str(here.club.id), **body})
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_nobody_plans_everything_by_leaving_something_out(here: ToPlan, administrator: Caller) -> None:
    here.player()
    for body in ({}, {"club": str(here.club.id), "whole_organisation": True}, {"whole_organisation": False}):
        answer = administrator("POST", "allocation-plans/", body)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/club")


def test_a_plan_without_players_or_season_is_a_conflict_with_the_way_out(here: ToPlan, officer: Caller) -> None:
    body = {"club": str(here.club.id)}
    assert officer("POST", "allocation-plans/", body).json()["code"] == "no_players"
    here.player()
    here.club.seasons.all().delete()
    assert officer("POST", "allocation-plans/", body).json()["code"] == "no_season"


def test_a_list_of_plans_carries_no_lines(here: ToPlan, officer: Caller) -> None:
    here.player()
    made(officer, club=str(here.club.id))
    [row] = officer("GET", "allocation-plans/").json()["results"]
    assert (row["lines"], row["lines_in_all"]) == (None, None)
    assert officer("GET", f"plan-lines/?plan={row['id']}&kind=helmet").json()["results"] != []


def test_the_etag_of_a_plan_changes_when_it_is_applied(here: ToPlan, officer: Caller, now: Stamp) -> None:
    here.player(), here.helmet()
    plan = made(officer, club=str(here.club.id))
    before = officer("GET", f"allocation-plans/{plan['id']}/")["ETag"]
    apply_plan(plan=AllocationPlan.objects.get(), stamp=now)
    assert officer("GET", f"allocation-plans/{plan['id']}/")["ETag"] != before


def test_levels_that_the_maker_states_are_kept_with_a_model_and_obeyed(here: ToPlan, officer: Caller) -> None:
    youth = TeamFactory.create(club=here.club, level="Youth")
    grown, child = here.player(), here.player(team=youth)
    here.helmet(), here.helmet()
    address = f"models/{here.model.id}/"
    etag = officer("GET", address)["ETag"]
    changed = officer("PATCH", address, {"levels": ["youth"]}, If_Match=etag)
    assert (changed.status_code, changed.json()["levels"]) == (200, ["youth"])
    plan = made(officer, club=str(here.club.id), kind="helmet")
    outcomes = {line["player"]: line["outcome"] for line in plan["lines"]}
    assert outcomes == {str(grown.id): "other_level", str(child.id): "planned"}
    assert Player.objects.count() == 2


def test_who_is_not_measured_or_fits_no_row_of_a_chart_is_left_out_with_the_reason(
    here: ToPlan, officer: Caller, team: Team
) -> None:
    unmeasured, outside = here.player(None), here.player(None)
    measure(outside, 660)
    here.helmet()
    plan = made(officer, team=str(team.id), kind="helmet")
    lines = {line["player"]: line for line in plan["lines"]}
    said = {id_: (line["outcome"], line["item"], line["because"]) for id_, line in lines.items()}
    assert (plan["planned"], plan["without"]) == (0, 2)
    assert said == {
        str(unmeasured.id): (
            "no_measurement",
            None,
            "Not measured: no head circumference is recorded. Measure first.",
        ),
        str(outside.id): (
            "no_size",
            None,
            "No size of the club's helmets goes with the measures: measure again, or look at the charts.",
        ),
    }


def test_a_line_says_how_the_fit_stands_now_under_another_etag(here: ToPlan, officer: Caller, team: Team) -> None:
    player, helmet = here.player("M", position="kicker"), here.helmet("M")
    here.player("L")
    SizeChart.objects.update(positions=["lineman"])
    plan = made(officer, team=str(team.id), kind="helmet")
    [line, short] = sorted(plan["lines"], key=lambda each: each["item"] is None)
    address = f"plan-lines/{line['id']}/"
    before = officer("GET", address)
    fitted(helmet, player)
    after = officer("GET", address)

    assert (line["fit"], short["fit"], short["remarks"]) == ("Not fitted on this player yet.", "", [])
    assert line["remarks"] == ["Made for lineman, not for the player's position (kicker)."]
    assert (before.json()["fit"], after.json()["fit"]) == (line["fit"], "")
    assert before["ETag"] != after["ETag"]
    assert officer("GET", address, If_None_Match=after["ETag"]).status_code == 304
