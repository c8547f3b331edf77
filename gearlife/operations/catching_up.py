"""Waiting work: the clocks that a change of policy has left stale."""

import logging
from datetime import datetime

from gearlife.models import Item, Organisation
from gearlife.operations.organisations import own_stamp
from gearlife.operations.policy_changes import catch_up

logger = logging.getLogger(__name__)


def catch_up_all(at: datetime) -> int:
    """Catch up with every organisation's stale clocks; how many items were settled.

    What fails in one does not keep the others waiting; an ExceptionGroup names it in the end.
    """
    stale = Item.objects.with_stale_clocks().order_by().values("organisation_id").distinct()
    done, errors = 0, []
    for organisation in Organisation.objects.filter(id__in=stale).order_by("id"):
        try:
            done += catch_up(own_stamp(organisation, at))
        except Exception as error:
            logger.exception("the clocks of the organisation %s did not catch up", organisation.id)
            errors.append(error)
    if errors:
        raise ExceptionGroup("clocks did not catch up", errors)
    return done
