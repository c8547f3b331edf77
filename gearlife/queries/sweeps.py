"""How long ago every organisation's alerts were last swept whole."""

from datetime import date, datetime
from uuid import UUID

from django.db.models import Max, Min, Q, QuerySet

from gearlife.domain.ids import made_at
from gearlife.domain.sweep_age import LATE_AFTER, SweepAge, what_was_skipped
from gearlife.models import Organisation, Sweep

LAST = Max("sweeps__finished_at", filter=Q(sweeps__complete=True))


def last_complete_sweep(organisation_id: UUID | None = None) -> datetime | None:
    """The oldest of the organisations' (or one's) last complete sweeps; None when one never was, or there is none."""
    asked = Organisation.objects.all() if organisation_id is None else Organisation.objects.filter(id=organisation_id)
    moments = list(asked.annotate(at=LAST).values_list("at", flat=True))
    if not moments or None in moments:
        return None
    oldest: datetime = min(moments)
    return oldest


def days_swept(organisation_id: UUID) -> tuple[date, date] | None:
    """First and last of the days for which the newest complete sweep and those begun since were made; None: no such.

    A sweep may have been asked for any day, and has left the alerts as of that.
    """
    newest = _complete(organisation_id).order_by("-started_at", "-id").first()
    if newest is None:
        return None
    runs = Sweep.objects.filter(organisation_id=organisation_id, started_at__gte=newest.started_at)
    days = runs.aggregate(first=Min("day"), last=Max("day"))
    return days["first"], days["last"]


def whole_sweep_since(organisation_id: UUID, day: date) -> bool:
    """Whether every item was asked by a complete sweep after a day."""
    return _complete(organisation_id).filter(whole=True, day__gt=day).exists()


def _complete(organisation_id: UUID) -> QuerySet[Sweep]:
    return Sweep.objects.filter(organisation_id=organisation_id, complete=True)


def sweep_age(at: datetime, organisation_id: UUID | None = None) -> SweepAge:
    """How old that is at a moment."""
    return SweepAge(last_complete_sweep(organisation_id), at)


def late_organisations(at: datetime) -> list[tuple[Organisation, SweepAge]]:
    """Those whose last complete sweep is too old, each with its age; one that was founded just now is not late yet."""
    last = dict(Organisation.objects.annotate(last=LAST).values_list("id", "last"))
    ages = [(each, SweepAge(last[each.id], at)) for each in Organisation.objects.filter(id__in=last).order_by("id")]
    return [(each, age) for each, age in ages if age.is_late and (age.last or at - made_at(each.id) > LATE_AFTER)]


def trouble(organisation_id: UUID) -> str:
    """What the newest sweep that ended did not examine; empty when it was complete, or there was none."""
    ended = Sweep.objects.filter(organisation_id=organisation_id, finished_at__isnull=False)
    run = ended.order_by("-finished_at", "-id").first()
    return incomplete_words(run) if run else ""


def incomplete_words(run: Sweep) -> str:
    """The same of one run."""
    return "" if run.complete else what_was_skipped(run.items_expected, run.items_examined, run.skipped, run.faults)
