"""Loans that are out: the concern about overdue ones, and which of them a day brings."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from fitting.domain.loans import overdue_on, overdue_words
from fitting.models import Assignment
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity, Whereabouts
from gearlife.models import Club
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.concerns import Concern


class LoanOverdueConcern(Concern):
    """Lent for the day, and not logged in by the next: ask for it. It stops nothing."""

    kind = "loan_overdue"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per loan that was made before the day; only alerts ask."""
        if reach is not Reach.LEAD:
            return
        worn = [item.id for item in about.items.values() if item.whereabouts is Whereabouts.PLAYER]
        for item_id, player_id, lent_at in _loans().values(items=worn) if worn else ():
            item = about.items[item_id]
            due_on = overdue_on(lent_at, item.timezone)
            if due_on <= day:
                yield Hit(
                    kind=self.kind,
                    effect=Effect.WARN,
                    advice=Advice.RETURN,
                    severity=Severity.ACT,
                    club_id=item.club_id,
                    item_id=item_id,
                    player_id=player_id,
                    falls_on=due_on,
                    because=overdue_words(local_day(lent_at, item.timezone), due_on),
                )


def newly_overdue(club: Club, since: date, day: date) -> Iterable[UUID]:
    """The items of a club whose loans became overdue after `since`, up to `day`."""
    zone = ZoneInfo(club.timezone)
    first, last = (datetime.combine(each, time.min, zone) for each in (since - timedelta(days=1), day))
    out = Assignment.objects.open().filter(organisation_id=club.organisation_id, loan=True, item__club=club)
    found: QuerySet[Any, Any] = out.filter(issued_at__gte=first, issued_at__lt=last)
    return list(found.values_list("item_id", flat=True))


@compiled
def _loans() -> QuerySet[Any, Any]:
    out = Assignment.objects.open().filter(loan=True, item_id__in=given.ids("items"))
    return out.values_list("item_id", "player_id", "issued_at")
