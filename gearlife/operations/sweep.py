"""The sweep: ask every concern about every item and bring the alerts into line; run twice it changes nothing more."""

import logging
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import islice
from uuid import UUID

from django.db import transaction

from gearlife.domain.days import local_day
from gearlife.models import Club, Item, Organisation, Sweep
from gearlife.operations import clocks
from gearlife.operations.alerts import refresh
from gearlife.queries.recorded import read_facts
from gearlife.queries.sweeps import last_complete_sweep

CHUNK = 500
DUE_AFTER = timedelta(hours=24)
# A run that has not ended after this was killed: a job is never let run longer (`CELERY_TASK_TIME_LIMIT`).
LEASE = timedelta(minutes=15)
logger = logging.getLogger(__name__)


def sweep_all(*, at: datetime, today: date | None = None) -> list[Sweep]:
    """Sweep every organisation; a fault in one does not keep the others from being swept."""
    return [
        sweep(organisation=organisation, at=at, today=today) for organisation in Organisation.objects.order_by("id")
    ]


def sweep_for_the_day(*, at: datetime) -> list[Sweep]:
    """Sweep every organisation that was not swept whole on its day, however many schedules ask for it at once."""
    claims = (_claim(organisation, at) for organisation in Organisation.objects.order_by("id"))
    return [_run(claim, at) for claim in claims if claim]


def sweep_if_due(*, at: datetime) -> None:
    """Sweep when the last complete one is a day old, or there was none."""
    last = last_complete_sweep()
    if last is None or at - last > DUE_AFTER:
        sweep_for_the_day(at=at)


def sweep(*, organisation: Organisation, at: datetime, today: date | None = None) -> Sweep:
    """Sweep one organisation, club by club on each club's calendar; complete when every item answered."""
    return _run(_begin(organisation, at, today), at, today)


@transaction.atomic
def _claim(organisation: Organisation, at: datetime) -> Sweep | None:
    """Begin the sweep of the organisation's day; None when it was swept whole, or somebody is at it."""
    Organisation.objects.select_for_update(no_key=True).get(id=organisation.id)
    runs = Sweep.objects.filter(organisation=organisation)
    done = runs.filter(day=local_day(at, organisation.timezone), complete=True)
    under_way = runs.filter(finished_at=None, started_at__gt=at - LEASE)
    return None if done.exists() or under_way.exists() else _begin(organisation, at, None)


def _begin(organisation: Organisation, at: datetime, today: date | None) -> Sweep:
    day = today or local_day(at, organisation.timezone)
    return Sweep.objects.create(organisation=organisation, day=day, started_at=at)


def _run(run: Sweep, at: datetime, today: date | None = None) -> Sweep:
    for club in Club.objects.filter(organisation_id=run.organisation_id).order_by("id"):
        ids = list(Item.objects.filter(club=club).order_by("id").values_list("id", flat=True))
        run.items_expected += len(ids)
        for chunk in _chunks(ids):
            _try(run, chunk, club, today, at)
    run.complete = not run.faults and run.items_examined == run.items_expected
    run.finished_at = at
    run.save()
    return run


def _chunks(ids: list[UUID]) -> Iterator[list[UUID]]:
    waiting = iter(ids)
    while chunk := list(islice(waiting, CHUNK)):
        yield chunk


def _try(run: Sweep, ids: list[UUID], club: Club, today: date | None, at: datetime) -> None:
    """Examine one chunk; one that fails leaves the sweep incomplete and does not keep the rest from being swept."""
    try:
        _examine(run, ids, today or local_day(at, club.timezone), at)
    except Exception as error:
        logger.exception("a chunk of %d items was not swept", len(ids))
        run.faults = sorted({*run.faults, type(error).__name__})


@transaction.atomic
def _examine(run: Sweep, ids: list[UUID], day: date, at: datetime) -> None:
    """One chunk in one transaction; the rows are locked so that an act in between cannot be undone by what was read."""
    Item.objects.locked(ids)
    # An item that was taken in while a rule was being added may have missed it: neither saw the other.
    about = read_facts(ids)
    if late := clocks.recompute(about):
        logger.warning("the clocks of %d items were not up to date", late)
    done = refresh(about, day, at)
    run.opened += done.opened
    run.changed += done.changed
    run.closed += done.closed
    run.items_examined += len(ids)
    run.faults = sorted({*run.faults, *done.failed})
