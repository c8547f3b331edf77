"""A worker's claim on a plan that waits: only while it stands may the worker finish the plan."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import F, Q, QuerySet

from fitting.models import AllocationPlan
from fitting.models.plans import UNFINISHED
from gearlife.domain.errors import ConflictError

# Longer than the largest plan takes; a worker that is killed costs its plan so much.
LEASE = timedelta(minutes=10)


@dataclass(frozen=True)
class PlanClaim:
    """The claim that one worker holds on one plan."""

    id: UUID
    at: datetime

    @property
    def lease_until(self) -> datetime:
        """When others may take the plan up."""
        return self.at + LEASE

    def taken(self) -> bool:
        """Whether this claim is now the one that stands: of two who try, one."""
        claimed = {"lease_until": self.lease_until, "attempts": F("attempts") + 1}
        return claimable(self.at).filter(id=self.id).update(**claimed) == 1

    def row(self) -> QuerySet[Any]:
        """The plan, while it is claimed by this very claim."""
        return AllocationPlan.objects.filter(id=self.id, lease_until=self.lease_until)

    def finish(self, **values: object) -> None:
        """Write what has become of it and let go; ConflictError when another has taken it up."""
        if self.row().update(**values, lease_until=None, version=F("version") + 1) == 0:
            raise ConflictError("Another worker has taken this plan up.", code="overtaken")


def claimable(at: datetime) -> QuerySet[Any]:
    """Plans that wait and that nobody works on, or whose worker has gone."""
    free = Q(lease_until__isnull=True) | Q(lease_until__lte=at)
    return AllocationPlan.objects.filter(free, state__in=UNFINISHED)
