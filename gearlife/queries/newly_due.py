"""Which items time alone may have touched between two sweeps: a few indexed questions in place of every item.

Acts settle their own items. What remains is what a day brings: a clock that is announced or falls, a hold that begins,
an alert that moves on, a season or a rule that begins or ends.
"""

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from gearlife.models import Alert, Clock, Club, Hold, PolicyRule, Season
from gearlife.queries.concerns.facts import REPAIR_LEAD

# A club's calendar may be a day off its organisation's, by which sweeps are counted.
MARGIN = timedelta(days=1)


# What a day brings to the tables of the packages above: club, the day of the last sweep, and today in, items out.
Source = Callable[[Club, date, date], Iterable[UUID]]
_sources: list[Source] = []


def register_newly_due(*sources: Source) -> None:
    """Add questions about what time alone may have touched; a package does so in its `AppConfig.ready`."""
    _sources.extend(each for each in sources if each not in _sources)


def newly_due(club: Club, since: date, day: date) -> list[UUID] | None:
    """The items of a club that may have changed after the sweep of `since`, up to `day`; None: any may have."""
    since -= MARGIN
    if _whole_club(club, since, day):
        return None
    clocks = Clock.objects.filter(organisation_id=club.organisation_id, item__club=club)
    holds = Hold.objects.open().filter(organisation_id=club.organisation_id, item__club=club)
    alerts = Alert.objects.open().filter(organisation_id=club.organisation_id, club=club, item__isnull=False)
    asked: list[Any] = [
        clocks.filter(alert_on__gte=since, alert_on__lte=day),
        clocks.filter(falls_on__gte=since, falls_on__lte=day),
        holds.filter(starts_on__gte=since, starts_on__lte=day + REPAIR_LEAD),
        alerts.filter(falls_on__gte=since, falls_on__lte=day),
    ]
    own = {item_id for rows in asked for item_id in rows.values_list("item_id", flat=True)}
    return sorted(own.union(*(source(club, since, day) for source in _sources)))


def _whole_club(club: Club, since: date, day: date) -> bool:
    """Whether a season of the club or a rule of its organisation has begun or ended, which no item's own row says."""
    crossed = Q(starts_on__gte=since, starts_on__lte=day) | Q(ends_on__gte=since, ends_on__lte=day)
    if Season.objects.filter(crossed, club=club).exists():
        return True
    begun = Q(in_force_from__gte=since, in_force_from__lte=day)
    ended = Q(in_force_to__gte=since, in_force_to__lte=day)
    return PolicyRule.objects.filter(begun | ended, organisation_id=club.organisation_id).exists()
