"""Making plans and applying them: what is kept, what is refused, what still holds, and what waits for a worker."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.pools import Weights
from fitting.models import AllocationPlan, Assignment, PlanLine, SetAside
from fitting.operations.assignments import NewAssignment, issue, issue_all
from fitting.operations.plans import apply_plan, put_back
from fitting.operations.plans.waiting_plans import do_waiting_plans
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, LedgerEvent, Team
from gearlife.operations import items
from gearlife.operations.holds import NewHold, hold
from gearlife.operations.intake.progress import progress_of
from gearlife.queries.gate import verdicts
from tests.factories import (
    AT,
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
from tests.fitting.club_to_plan import HEADS, ToPlan, items_of, line_of, measure
from tests.fitting.operations.giving_back import give_back


@pytest.fixture
def here(club: Club, team: Team) -> ToPlan:
    return ToPlan(club, team)


def applied(plan: AllocationPlan, now: Stamp) -> AllocationPlan:
    apply_plan(plan=plan, stamp=now)
    plan.refresh_from_db()
    return plan


def kept(plan: AllocationPlan) -> dict[Any, Any]:
    """What is set aside now, by player."""
    return dict(SetAside.objects.open().filter(plan=plan).values_list("player_id", "item_id"))


# Making.


def test_a_plan_is_kept_with_its_lines_and_with_what_is_short(here: ToPlan, now: Stamp) -> None:
    served, left, unmeasured = here.player("M"), here.player("L"), here.player(None)
    helmet = here.helmet("M")
    plan = here.plan(now)
    plan.refresh_from_db()
    assert (plan.state, plan.planned, plan.without, plan.club_id) == ("made", 1, 2, here.club.id)
    assert items_of(plan) == {served.id: helmet.id}
    assert (line_of(plan, left).outcome, line_of(plan, unmeasured).outcome) == ("short", "no_measurement")
    assert [(each["count"], each["sizes"][0]["size"]) for each in plan.short if not each["for_spares"]] == [(1, "L")]
    assert plan.weights == {"size": 100, "keep": 40, "age": 10, "spare": 30, "spare_percent": 10}


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


# Applying.


def test_applying_sets_aside_and_hands_nothing_out(here: ToPlan, now: Stamp) -> None:
    player, helmet = here.player(), here.helmet()
    plan = applied(here.plan(now), now)
    assert (plan.state, plan.applied_at) == ("applied", now.at)
    assert kept(plan) == {player.id: helmet.id}
    assert line_of(plan, player).state == "set_aside"
    assert Assignment.objects.count() == 0
    assert Item.objects.get(id=helmet.id).whereabouts == "stock"


def test_applying_twice_sets_aside_once(here: ToPlan, now: Stamp) -> None:
    here.player()
    here.helmet()
    plan = applied(applied(here.plan(now), now), now)
    assert SetAside.objects.filter(plan=plan).count() == 1
    assert LedgerEvent.objects.filter(action="set_aside").count() == 1


def test_an_item_retired_between_plan_and_apply_is_said_and_the_rest_is_set_aside(here: ToPlan, now: Stamp) -> None:
    first, second = here.player("M"), here.player("L")
    retired, sound = here.helmet("M"), here.helmet("L")
    plan = here.plan(now)
    items.retire(item=retired, reason="old", on=None, stamp=now)
    applied(plan, now)
    assert kept(plan) == {second.id: sound.id}
    line = line_of(plan, first)
    assert (line.state, line.state_because) == ("not_valid", f"It was retired on {DAY}.")


def test_every_change_between_plan_and_apply_is_said(here: ToPlan, now: Stamp) -> None:
    players = [here.player() for _ in range(5)]
    for _ in range(5):
        here.helmet()
    plan = here.plan(now)
    given = {who: what for who, what in items_of(plan).items() if what}
    held, taken, moved, grown, served = players
    hold(new=NewHold(item_id=given[held.id], reason="shell crack"), stamp=now)
    put_on(Item.objects.get(id=given[taken.id]), here.player())
    type(moved).objects.filter(id=moved.id).update(team=TeamFactory.create(club=here.club))
    measure(grown, HEADS["L"], on=DAY + timedelta(days=1))
    put_on(here.helmet("L"), served)
    applied(plan, now)
    because = {player: line_of(plan, player).state_because for player in players}
    assert kept(plan) == {}
    assert "shell crack" in because[held]
    assert "another player has it" in because[taken]
    assert "no longer on the team" in because[moved]
    assert "no longer plausible" in because[grown]
    assert "The player has one by now" in because[served]


def test_what_another_plan_has_set_aside_meanwhile_is_said(here: ToPlan, now: Stamp) -> None:
    first, helmet = here.player(), here.helmet()
    plan = here.plan(now)
    second = here.player(team=TeamFactory.create(club=here.club))
    facts = {"organisation": here.club.organisation, "kind": "helmet", "made_at": AT}
    SetAside.objects.create(item=helmet, player=second, **facts)
    applied(plan, now)
    assert line_of(plan, first).state_because == "It is set aside for another player by now."


def test_a_newer_plan_takes_the_place_of_what_was_set_aside_before(here: ToPlan, now: Stamp) -> None:
    player, small = here.player(None), here.helmet("M")
    measure(player, HEADS["M"])
    first = applied(here.plan(now), now)
    measure(player, HEADS["L"], on=DAY + timedelta(days=1))
    large = here.helmet("L")
    second = applied(here.plan(now), now)
    assert (kept(first), kept(second)) == ({}, {player.id: large.id})
    assert SetAside.objects.get(item=small).ended_by == "another"


def test_planning_again_keeps_for_a_player_what_is_set_aside_already(here: ToPlan, now: Stamp) -> None:
    here.player(), here.player(), here.helmet(), here.helmet()
    first = applied(here.plan(now), now)
    second = applied(here.plan(now), now)
    assert items_of(second) == items_of(first) == kept(first)
    assert SetAside.objects.count() == 2
    assert set(PlanLine.objects.filter(plan=second).values_list("state", flat=True)) == {"set_aside"}


def test_a_set_aside_ends_when_the_item_is_handed_out_and_a_loan_ends_none(here: ToPlan, now: Stamp) -> None:
    player, other, helmet = here.player(), here.player(), here.helmet()
    second = here.helmet()
    plan = applied(here.plan(now), now)
    ours, theirs = (Item.objects.get(id=kept(plan)[each.id]) for each in (player, other))
    issue(new=NewAssignment(item_id=theirs.id, player=other, loan=True), stamp=now)
    assert set(kept(plan)) == {player.id, other.id}
    issue(new=NewAssignment(item_id=ours.id, player=player), stamp=now)
    assert set(kept(plan)) == {other.id}
    assert {helmet.id, second.id} == {ours.id, theirs.id}
    assert SetAside.objects.get(item=ours).ended_by == "handed_out"
    assert LedgerEvent.objects.filter(action="set_aside_ended").count() == 1


def test_many_handed_out_at_once_end_their_set_asides_in_as_many_queries_as_one(here: ToPlan, now: Stamp) -> None:
    players = [here.player() for _ in range(6)]
    for _ in players:
        here.helmet()
    plan = applied(here.plan(now), now)
    given = kept(plan)

    def asked(some: list[Any]) -> int:
        with CaptureQueriesContext(connection) as queries:
            issue_all([NewAssignment(item_id=given[each.id], player=each) for each in some], now)
        return len(queries)

    assert asked(players[:1]) == asked(players[1:])
    assert kept(plan) == {}


def test_what_is_set_aside_may_go_to_another_with_a_warning(here: ToPlan, now: Stamp) -> None:
    player, helmet = here.player(), here.helmet()
    plan = applied(here.plan(now), now)
    verdict = verdicts([helmet.id], DAY)[helmet.id]
    assert verdict.issuable
    assert [hit.player_id for hit in verdict.warnings if hit.kind == "set_aside"] == [player.id]
    issue(new=NewAssignment(item_id=helmet.id, player=here.player()), stamp=now)
    assert kept(plan) == {}


def test_a_plan_can_be_put_back(here: ToPlan, now: Stamp) -> None:
    player, helmet = here.player(), here.helmet()
    plan = applied(here.plan(now), now)
    put_back(plan=plan, stamp=now)
    put_back(plan=plan, stamp=now)
    assert (kept(plan), line_of(plan, player).state) == ({}, "put_back")
    assert LedgerEvent.objects.filter(action="set_aside_ended", item_id=helmet.id).count() == 1


# Waiting.


@pytest.fixture
def large(here: ToPlan, now: Stamp, monkeypatch: pytest.MonkeyPatch) -> AllocationPlan:
    """A plan that is too large to be made at once."""
    monkeypatch.setattr("fitting.operations.plans.making.MOST_AT_ONCE", 2)
    monkeypatch.setattr("fitting.operations.plans.applying.MOST_AT_ONCE", 2)
    for _ in range(3):
        here.player()
        here.helmet()
    return here.plan(now)


def test_a_large_plan_waits_and_is_made_and_applied_by_a_worker(large: AllocationPlan, now: Stamp) -> None:
    assert (large.state, PlanLine.objects.count()) == ("waiting", 0)
    with pytest.raises(ConflictError, match="not made yet"):
        apply_plan(plan=large, stamp=now)
    do_waiting_plans(AT)
    large.refresh_from_db()
    assert (large.state, large.planned, large.lease_until) == ("made", 3, None)
    assert applied(large, now).state == "applying"
    assert SetAside.objects.count() == 0
    do_waiting_plans(AT)
    large.refresh_from_db()
    assert (large.state, len(kept(large)), large.applied_by_id) == ("applied", 3, now.actor.user_id)


def test_a_large_plan_says_how_far_it_is(large: AllocationPlan) -> None:
    do_waiting_plans(AT)
    assert progress_of(large.id) == {"stage": "writing", "rows_done": 0, "rows": 3}


def test_a_plan_that_another_works_on_is_left_alone_until_its_claim_runs_out(large: AllocationPlan) -> None:
    AllocationPlan.objects.update(lease_until=AT + timedelta(minutes=1))
    do_waiting_plans(AT)
    assert AllocationPlan.objects.get().state == "waiting"
    do_waiting_plans(AT + timedelta(minutes=2))
    assert AllocationPlan.objects.get().state == "made"


def test_a_plan_that_fails_again_and_again_is_given_up_and_says_so(large: AllocationPlan, monkeypatch: Any) -> None:
    def fails(*_: object) -> None:
        raise RuntimeError("no memory")

    monkeypatch.setattr("fitting.operations.plans.waiting_plans.make_waiting", fails)
    for hour in range(3):
        with pytest.raises(RuntimeError):
            do_waiting_plans(AT + timedelta(hours=hour))
    do_waiting_plans(AT + timedelta(hours=4))
    large.refresh_from_db()
    assert (large.state, "three times" in large.failed_because) == ("failed", True)


def test_players_without_any_gear_of_the_club_make_a_plan_too(here: ToPlan, now: Stamp) -> None:
    player = PlayerFactory.create(club=here.club, team=here.team)
    assert line_of(here.plan(now), player).outcome == "no_chart"
