"""Waiting work: plans that are to be made or applied, each by one worker, taken up again when that one is killed."""

import logging
from datetime import datetime, timedelta
from time import monotonic

from fitting.domain.vocabulary import PlanState
from fitting.models import AllocationPlan
from fitting.operations.plans.applying import apply_waiting
from fitting.operations.plans.claims import PlanClaim, claimable
from fitting.operations.plans.making import make_waiting
from gearlife.domain.errors import ConflictError, GearlifeError
from gearlife.operations.intake.progress import keep_of

MOST_ATTEMPTS = 3
FAILED = "Something failed here three times and was written down. Make the plan again, for a club or a team alone."
NOT_APPLIED = "Something failed three times while it was applied, and was written down. Apply it again."

logger = logging.getLogger(__name__)


def do_waiting_plans(at: datetime) -> None:
    """Make and apply every plan that waits; safe to be asked twice and at once."""
    began = monotonic()
    for id_ in list(claimable(at).order_by("asked_at", "id").values_list("id", flat=True)):
        claim = PlanClaim(id_, at + timedelta(seconds=monotonic() - began))
        if claim.taken():
            _work_on(claim)


def _work_on(claim: PlanClaim) -> None:
    """One claimed plan; what refuses it is kept on its row, what merely came in between is tried again."""
    plan = AllocationPlan.objects.select_related("season").get(id=claim.id)
    try:
        if plan.attempts > MOST_ATTEMPTS:
            _give_up(plan, claim)
        elif plan.state == PlanState.APPLYING:
            apply_waiting(plan, claim, keep_of(plan.id))
        else:
            make_waiting(plan, claim, keep_of(plan.id))
    except ConflictError:
        logger.warning("plan %s was overtaken and waits again", claim.id, exc_info=True)
        claim.row().update(lease_until=None)
    except GearlifeError as refused:
        claim.finish(state=PlanState.FAILED.value, failed_because=refused.detail)


def _give_up(plan: AllocationPlan, claim: PlanClaim) -> None:
    """One that could not be applied is still a plan; what was set aside of it stays so."""
    is_made = plan.state == PlanState.APPLYING
    state = PlanState.MADE if is_made else PlanState.FAILED
    claim.finish(state=state.value, failed_because=NOT_APPLIED if is_made else FAILED, attempts=0)
