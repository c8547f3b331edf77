"""Making plans: what is kept of them, what is refused, and what they are made from."""

import pytest

from fitting.domain.loaners import Band
from fitting.domain.pools import Weights
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, PlanLine, SetAside
from fitting.operations.loaners import NewLoaner, end_loaner, set_up
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Role
from gearlife.models import LedgerEvent
from gearlife.operations.holds import NewHold, hold
from tests.factories import (
    DAY,
    LAST_GAME,
    ClubFactory,
    PlayerFactory,
    SeasonFactory,
    TeamFactory,
    actor,
    put_on,
    stamp,
)
from tests.fitting.club_to_plan import ToPlan, applied, items_of, line_of, measure
from tests.fitting.operations.giving_back import give_back


def test_a_plan_is_kept_with_its_lines_and_with_what_is_short(here: ToPlan, now: Stamp) -> None:
    served, left, unmeasured = here.player("M"), here.player("L"), here.player(None)
    helmet = here.helmet("M")
    plan = here.plan(now)
    plan.refresh_from_db()
    assert (plan.state, plan.planned, plan.without, plan.club_id) == ("made", 1, 2, here.club.id)
    assert items_of(plan) == {served.id: helmet.id}
    assert (line_of(plan, left).outcome, line_of(plan, unmeasured).outcome) == ("short", "no_measurement")
    assert [(each["count"], each["sizes"][0]["size"]) for each in plan.short if not each["for_spares"]] == [(1, "L")]
    assert plan.weights == {"size": 100, "keep": 40, "age": 10, "spare": 30, "spare_percent": 10, "position": 20}


def test_making_a_plan_hands_nothing_out_and_sets_nothing_aside(here: ToPlan, now: Stamp) -> None:
    here.player()
    here.helmet()
    here.plan(now)
    assert (Assignment.objects.count(), SetAside.objects.count()) == (0, 0)


def test_a_plan_for_a_club_is_for_all_its_teams_and_for_both_kinds(here: ToPlan, now: Stamp) -> None:
    players = [here.player(), here.player(team=TeamFactory.create(club=here.club)), here.player(team=None)]
    here.player(club=ClubFactory.create(organisation=here.club.organisation), team=None)
    plan = here.plan(now, team=None, club=here.club, kind=None)
    rows = PlanLine.objects.filter(plan=plan).values_list("player_id", "kind")
    assert set(rows) == {(player.id, kind) for player in players for kind in ("helmet", "shoulder_pads")}


def test_a_plan_for_the_organisation_never_crosses_clubs(here: ToPlan) -> None:
    other = ToPlan(ClubFactory.create(organisation=here.club.organisation))
    other.model = here.model
    mine, theirs = here.player(), other.player()
    helmet = other.helmet()
    administrator = stamp(actor(Role.ADMINISTRATOR, at=here.club.organisation))
    plan = here.plan(administrator, team=None)
    assert items_of(plan) == {theirs.id: helmet.id}
    assert line_of(plan, mine).outcome == "no_chart"


def test_the_organisation_is_planned_by_its_administrators_alone(here: ToPlan, now: Stamp) -> None:
    here.player()
    with pytest.raises(NotPermittedError):
        here.plan(now, team=None)


def test_a_club_without_a_season_is_named_and_a_plan_for_it_alone_refused(here: ToPlan) -> None:
    other = ToPlan(ClubFactory.create(organisation=here.club.organisation, in_season=False, name="Far Bank"))
    other.player()
    here.player()
    with pytest.raises(ConflictError, match="No running or coming season"):
        other.plan(club=other.club)
    plan = here.plan(stamp(actor(Role.ADMINISTRATOR, at=here.club.organisation)), team=None)
    assert plan.notes == ["Far Bank is not planned: no running or coming season is entered there."]


def test_nobody_to_plan_for_is_said(here: ToPlan, now: Stamp) -> None:
    with pytest.raises(ConflictError, match="no players"):
        here.plan(now)


@pytest.mark.parametrize("wrong", [{"size": -1}, {"keep": 101}, {"spare_percent": 51}])
def test_weights_out_of_bounds_are_refused_with_their_place(here: ToPlan, now: Stamp, wrong: dict[str, int]) -> None:
    with pytest.raises(InvalidInputError) as refused:
        here.plan(now, weights=Weights(**wrong))
    assert [fault.pointer for fault in refused.value.faults] == [f"/weights/{name}" for name in wrong]


def test_a_season_of_another_club_or_one_that_is_over_is_refused(here: ToPlan, now: Stamp) -> None:
    over = SeasonFactory.create(
        club=here.club, year=2025, starts_on=DAY.replace(year=2025), ends_on=DAY.replace(year=2025)
    )
    foreign = ClubFactory.create(organisation=here.club.organisation).seasons.get()
    for season in (over, foreign):
        with pytest.raises(InvalidInputError) as refused:
            here.plan(now, season=season)
        assert [fault.pointer for fault in refused.value.faults] == ["/season"]


def test_a_team_of_another_club_is_refused(here: ToPlan, now: Stamp) -> None:
    with pytest.raises(InvalidInputError, match="another club"):
        here.plan(now, club=ClubFactory.create(organisation=here.club.organisation))


def test_what_lasts_this_season_need_not_last_the_next(here: ToPlan, now: Stamp) -> None:
    player, helmet = here.player(), here.helmet(made_on="2025-01")
    later = SeasonFactory.create(
        club=here.club, year=2027, starts_on=DAY.replace(year=2027, month=8), ends_on=LAST_GAME.replace(year=2027)
    )
    assert items_of(here.plan(now)) == {player.id: helmet.id}
    assert items_of(here.plan(now, season=later)) == {}


def test_the_item_of_last_season_is_kept(here: ToPlan, now: Stamp) -> None:
    player, last = here.player(), here.helmet()
    give_back(put_on(last, player))
    for _ in range(3):
        here.helmet()
    plan = here.plan(now)
    assert items_of(plan) == {player.id: last.id}
    assert "The same that the player had before." in line_of(plan, player).because


def test_a_player_whose_helmet_must_come_off_gets_another(here: ToPlan, now: Stamp) -> None:
    player, stopped, other = here.player(), here.helmet(), here.helmet()
    put_on(stopped, player)
    assert line_of(here.plan(now), player).outcome == "has_one"
    hold(new=NewHold(item_id=stopped.id, reason="shell crack"), stamp=now)
    plan = here.plan(now)
    assert items_of(plan) == {player.id: other.id}
    assert f"In place of {stopped.serial}:" in line_of(plan, player).because


def test_no_measurement_stands_in_anything_that_a_plan_keeps(here: ToPlan, now: Stamp) -> None:
    player = here.player(None)
    measure(player, 567.3)
    here.helmet()
    plan = applied(here.plan(now), now)
    told = [plan.__dict__, line_of(plan, player).__dict__, *(event.text for event in LedgerEvent.objects.all())]
    assert [figure for figure in ("567.3", "566.8", "567.8") if figure in str(told)] == []


def test_players_without_any_gear_of_the_club_make_a_plan_too(here: ToPlan, now: Stamp) -> None:
    player = PlayerFactory.create(club=here.club, team=here.team)
    assert line_of(here.plan(now), player).outcome == "no_chart"


def test_a_loaner_is_kept_for_games_until_it_is_none_any_more(here: ToPlan, now: Stamp) -> None:
    player, helmet = here.player(), here.helmet()
    loaner = set_up(new=NewLoaner(helmet.id, [Band(MeasurementKind.HEAD_CIRCUMFERENCE, 550.0, 580.0)]), stamp=now)
    plan = here.plan(now)
    assert line_of(plan, player).outcome == "short"
    assert "1 more set up as loaners for games" in " ".join(each["detail"] for each in plan.short)
    end_loaner(loaner=loaner, stamp=now)
    assert line_of(here.plan(now), player).item_id == helmet.id
