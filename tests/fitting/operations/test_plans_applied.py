"""Applying plans: what is set aside, what no longer holds, and what becomes of it."""

from datetime import timedelta
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Assignment, PlanLine, SetAside
from fitting.operations.assignments import NewAssignment, issue, issue_all
from fitting.operations.plans import put_back
from fitting.operations.players import change_player
from gearlife.domain.access import Stamp
from gearlife.models import Item, LedgerEvent
from gearlife.operations import items
from gearlife.operations.holds import NewHold, hold
from gearlife.queries.gate import verdicts
from tests.factories import (
    AT,
    DAY,
    TeamFactory,
    put_on,
)
from tests.fitting.club_to_plan import HEADS, ToPlan, applied, items_of, kept, line_of, measure


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


def test_what_is_set_aside_for_somebody_who_leaves_the_team_is_free_again(here: ToPlan, now: Stamp) -> None:
    player, stays = here.player(), here.player()
    here.helmet(), here.helmet()
    plan = applied(here.plan(now), now)
    change_player(player=player, changes={"jersey_number": 4}, stamp=now)
    assert set(kept(plan)) == {player.id, stays.id}
    change_player(player=player, changes={"team": None}, stamp=now)
    assert set(kept(plan)) == {stays.id}
    assert line_of(plan, player).state == "put_back"
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
