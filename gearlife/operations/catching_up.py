"""Waiting work: the clocks that a change of policy has left stale."""

from datetime import datetime

from gearlife.models import Item, Organisation
from gearlife.operations.organisations import own_stamp
from gearlife.operations.policy_changes import catch_up


def catch_up_all(at: datetime) -> int:
    """Catch up with every organisation's stale clocks; how many items were settled."""
    stale = Item.objects.with_stale_clocks().order_by().values("organisation_id").distinct()
    organisations = Organisation.objects.filter(id__in=stale).order_by("id")
    return sum(catch_up(own_stamp(organisation, at)) for organisation in organisations)
