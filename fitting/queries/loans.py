"""Loans that are out: the concern about overdue ones, and which of them a day brings."""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db.models import Exists, OuterRef, QuerySet

from fitting.domain.loans import is_overdue, overdue_at, overdue_on, overdue_words
from fitting.models import Assignment
from fitting.models.assignments import AssignmentQuerySet
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity, Whereabouts
from gearlife.models import Alert, Club
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.concerns import Concern

# From the last minute of a day to the next noon, where clocks are put forward between.
SHORTEST = timedelta(hours=11)
# The next wake-up finds the rest.
MOST_AT_ONCE = 500


@dataclass(frozen=True)
class LoansOut:
    """How many loans are out, and how many of them are overdue."""

    out: int
    overdue: int


class LoanOverdueConcern(Concern):
    """Lent for the day, and not logged in by noon of the next: ask for it. It stops nothing."""

    kind = "loan_overdue"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per loan whose noon has passed; only alerts ask."""
        if reach is not Reach.LEAD:
            return
        worn = [item.id for item in about.items.values() if item.whereabouts is Whereabouts.PLAYER]
        for item_id, player_id, lent_at in _loans().values(items=worn) if worn else ():
            item = about.items[item_id]
            due_on = overdue_on(lent_at, item.timezone)
            if is_overdue(lent_at, item.timezone, day, about.asked_at):
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


def untold(at: datetime) -> list[tuple[UUID, str]]:
    """The items of loans that are overdue at a moment and that no alert asks for yet, each with its club's time zone.

    Of what may be overdue one indexed query asks; the noon itself is each club's own.
    """
    asked = Alert.objects.open().filter(item=OuterRef("item"), kind=LoanOverdueConcern.kind)
    out = Assignment.objects.open().filter(~Exists(asked), loan=True, issued_at__lte=at - SHORTEST)
    rows: QuerySet[Any, Any] = out.order_by("issued_at", "id").values_list(
        "item_id", "issued_at", "item__club__timezone"
    )
    return [(item_id, zone) for item_id, lent_at, zone in rows[:MOST_AT_ONCE] if _is_past(lent_at, zone, at)]


def out_of(loans: AssignmentQuerySet, at: datetime) -> LoansOut:
    """How many of these loans are out, and how many of them overdue at a moment; one query."""
    rows: QuerySet[Any, Any] = loans.open().filter(loan=True).order_by()
    noons = [_is_past(lent_at, zone, at) for lent_at, zone in rows.values_list("issued_at", "item__club__timezone")]
    return LoansOut(len(noons), sum(noons))


def _is_past(lent_at: datetime, zone: str, at: datetime) -> bool:
    """Whether its noon has passed; a club without a calendar, which the sweep names, is asked for nothing here."""
    with suppress(ZoneInfoNotFoundError):
        return overdue_at(lent_at, zone) <= at
    return False


@compiled
def _loans() -> QuerySet[Any, Any]:
    out = Assignment.objects.open().filter(loan=True, item_id__in=given.ids("items"))
    return out.values_list("item_id", "player_id", "issued_at")
