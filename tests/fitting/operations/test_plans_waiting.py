"""Large plans: they wait for a worker, who may be killed, and some are refused."""

from datetime import timedelta
from typing import Any

import pytest

from fitting.models import AllocationPlan, PlanLine, SetAside
from fitting.operations.plans import apply_plan
from fitting.operations.plans.waiting_plans import do_waiting_plans
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError
from gearlife.operations.intake.progress import progress_of
from tests.factories import (
    AT,
)
from tests.fitting.club_to_plan import ToPlan, applied, kept


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


def test_a_plan_that_would_run_too_long_is_refused_with_the_way_out(
    large: AllocationPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fitting.domain.matching.MOST_DENSE_CELLS", 0)
    monkeypatch.setattr("fitting.domain.allocation.MOST_PAIRS", 0)
    monkeypatch.setattr("fitting.domain.by_sizes.MOST_CHOICES", 2)
    do_waiting_plans(AT)
    large.refresh_from_db()
    assert (large.state, PlanLine.objects.count()) == ("failed", 0)
    assert "choose a team" in large.failed_because
