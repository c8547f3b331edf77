"""The sweep: ask every concern about every item and bring the alerts into line; run twice it changes nothing more."""

import logging
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import date, datetime, timedelta
from itertools import islice
from uuid import UUID
from zoneinfo import ZoneInfoNotFoundError

from django.db import OperationalError, transaction
from django.db.models import Q

from gearlife.domain.days import local_day
from gearlife.models import Club, Item, Organisation, Sweep
from gearlife.operations import clocks
from gearlife.operations.alerts import Refreshed, refresh
from gearlife.queries.newly_due import newly_due
from gearlife.queries.recorded import read_facts
from gearlife.queries.sweeps import days_swept, whole_sweep_since

CHUNK = 500
# A sweep that could not examine everything is made again on its day, but not at every asking.
AGAIN_AFTER = timedelta(hours=1)
# So often a sweep asks every item, and reports what the quick ones in between had missed.
WHOLE_EVERY = timedelta(days=7)
# A run that has not ended after this was killed: a job is never let run longer (`CELERY_TASK_TIME_LIMIT`).
LEASE = timedelta(minutes=15)
# What fails for every row is not asked row by row to the end.
MOST_NAMED = 20
# A database that is away, or busy for too long, is not asked again in halves.
AWAY = OperationalError.__name__
logger = logging.getLogger(__name__)


def sweep_all(*, at: datetime, today: date | None = None) -> list[Sweep]:
    """Sweep every organisation; a fault in one does not keep the others from being swept."""
    return [
        sweep(organisation=organisation, at=at, today=today) for organisation in Organisation.objects.order_by("id")
    ]


def sweep_for_the_day(*, at: datetime) -> list[Sweep]:
    """Sweep every organisation that was not swept on its day, however many schedules ask for it at once.

    Only what time may have touched since the last complete sweep is asked; once a week, everything.
    """
    claims = (_claim(organisation, at) for organisation in Organisation.objects.order_by("id"))
    return [_run(claim, at, quick=True) for claim in claims if claim]


def sweep(*, organisation: Organisation, at: datetime, today: date | None = None) -> Sweep:
    """Sweep one organisation, club by club on each club's calendar; complete when every item answered."""
    return _run(_begin(organisation, at, today), at, today)


@transaction.atomic
def _claim(organisation: Organisation, at: datetime) -> Sweep | None:
    """Begin the sweep of the day that has begun in all its clubs; None when that was done, or is or just was tried."""
    Organisation.objects.select_for_update(no_key=True).get(id=organisation.id)
    runs = Sweep.objects.filter(organisation=organisation)
    done = Q(day=_day(organisation, at), complete=True)
    under_way = Q(finished_at=None, started_at__gt=at - LEASE)
    just_tried = Q(finished_at__isnull=False, complete=False, started_at__gt=at - AGAIN_AFTER)
    return None if runs.filter(done | under_way | just_tried).exists() else _begin(organisation, at, None)


def _begin(organisation: Organisation, at: datetime, today: date | None) -> Sweep:
    return Sweep.objects.create(organisation=organisation, day=today or _day(organisation, at), started_at=at)


def _day(organisation: Organisation, at: datetime) -> date:
    """The day on the calendar that is furthest behind: where it has begun, it has begun in every club."""
    clubs = Club.objects.filter(organisation=organisation).order_by().values_list("timezone", flat=True).distinct()
    days = []
    for timezone in clubs:
        with suppress(ZoneInfoNotFoundError):
            days.append(local_day(at, timezone))
    return min(days, default=local_day(at, organisation.timezone))


def _run(run: Sweep, at: datetime, today: date | None = None, *, quick: bool = False) -> Sweep:
    since = _known_since(run)
    run.whole = not (quick and since and whole_sweep_since(run.organisation_id, run.day - WHOLE_EVERY))
    for club in Club.objects.filter(organisation_id=run.organisation_id).order_by("id"):
        try:
            on = today or local_day(at, club.timezone)
        except ZoneInfoNotFoundError as error:
            logger.exception("the club %s has no calendar", club.id)
            run.items_expected += Item.objects.filter(club=club).count()
            _fault(run, {type(error).__name__})
            continue
        _sweep_club(run, club, since, on, at)
    run.complete = not run.faults and run.items_examined == run.items_expected
    run.finished_at = at
    run.save()
    return run


def _known_since(run: Sweep) -> date | None:
    """The day from which on only time can have changed anything; None where clocks wait to be reckoned anew."""
    if Item.objects.filter(organisation_id=run.organisation_id).with_stale_clocks().exists():
        return None
    first, last = days_swept(run.organisation_id) or (None, run.day)
    return first if last <= run.day else None


def _sweep_club(run: Sweep, club: Club, since: date | None, on: date, at: datetime) -> None:
    """Examine what time may have touched, and in a whole sweep the rest as well: it should change nothing there."""
    due = newly_due(club, since, on) if since else None
    everything: Iterable[UUID] = ()
    if due is None or run.whole:
        everything = Item.objects.filter(club=club).order_by("id").values_list("id", flat=True)
    if due is not None:
        _examine_each(run, due, on, at)
    before = (run.opened, run.changed, run.closed)
    _examine_each(run, sorted(set(everything) - set(due or ())), on, at)
    if due is not None:
        run.unforeseen += sum((run.opened, run.changed, run.closed)) - sum(before)


def _examine_each(run: Sweep, ids: list[UUID], on: date, at: datetime) -> None:
    run.items_expected += len(ids)
    for chunk in _chunks(ids):
        _examine_all(run, chunk, on, at)


def _chunks(ids: list[UUID]) -> Iterator[list[UUID]]:
    waiting = iter(ids)
    while chunk := list(islice(waiting, CHUNK)):
        yield chunk


def _examine_all(run: Sweep, ids: list[UUID], day: date, at: datetime) -> None:
    """Examine these; where that fails go on by halves, so that one bad row is named and keeps no other from it."""
    faults = _examine_or_say(run, ids, day, at)
    if not faults:
        run.items_examined += len(ids)
    elif len(ids) == 1:
        _fault(run, faults)
        _name(run, ids[0], faults)
    elif len(run.skipped) == MOST_NAMED or AWAY in faults:
        _fault(run, faults)
    else:
        middle = len(ids) // 2
        _examine_all(run, ids[:middle], day, at)
        _examine_all(run, ids[middle:], day, at)


def _examine_or_say(run: Sweep, ids: list[UUID], day: date, at: datetime) -> set[str]:
    """What kept some of them from being examined: errors by their kind, concerns that did not answer."""
    try:
        done = examine(ids, day, at)
    except Exception as error:
        logger.exception("%d items were not swept", len(ids))
        return {type(error).__name__}
    run.opened += done.opened
    run.changed += done.changed
    run.closed += done.closed
    return set(done.failed)


@transaction.atomic
def examine(ids: Iterable[UUID], day: date, at: datetime) -> Refreshed:
    """Bring the alerts of these items into line, all in one transaction.

    The rows are locked so that an act in between cannot be undone by what was read.
    """
    Item.objects.lock(ids)
    # An item that was taken in while a rule was being added may have missed it: neither saw the other.
    about = read_facts(ids)
    if late := clocks.recompute(about):
        logger.warning("the clocks of %d items were not up to date", late)
    return refresh(about, day, at)


def _fault(run: Sweep, faults: set[str]) -> None:
    run.faults = sorted({*run.faults, *faults})


def _name(run: Sweep, item_id: UUID, faults: set[str]) -> None:
    named = Item.objects.filter(id=item_id).values_list("serial", "tag").first() or ("", "")
    run.skipped.append({"item": str(item_id), "name": named[0] or named[1], "why": ", ".join(sorted(faults))})
