"""Take away what is kept no longer, in portions: killed in between, the next run finds what is left."""

import logging
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q

from fitting.domain.retention import DEFAULTS, Kept, Period
from fitting.models import Fit, Measurement, MeasurementRead, Player, PlayerChange, RetentionRule, RetentionRun
from fitting.operations.removing import remove_person
from fitting.queries.retention import DETAILS, Due, due_in, log_before, periods_of
from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.errors import ConflictError
from gearlife.domain.vocabulary import Mark
from gearlife.models import Club, Organisation
from gearlife.operations import rewording
from gearlife.operations.ledger import Entry, record
from gearlife.operations.organisations import own_stamp

CHUNK = 200
# Removing a person reads every text of the organisation: so many a run, the rest in the next.
MOST_PERSONS = 200
# A run that has not ended after this was killed: a job is never let run longer.
LEASE = timedelta(minutes=15)
# What could not be finished is tried again on its day, but not at every asking.
AGAIN_AFTER = timedelta(hours=1)
logger = logging.getLogger(__name__)


def add_default_rules(stamp: Stamp, **_: object) -> None:
    """Give a new organisation the default times; it changes them as it must."""
    organisation_id = stamp.actor.organisation_id
    RetentionRule.objects.bulk_create(
        RetentionRule(
            organisation_id=organisation_id,
            of=each.of.value,
            months=each.months,
            until_age=each.until_age,
            source=each.source,
            mark=each.mark.value,
        )
        for each in DEFAULTS
    )


@transaction.atomic
def change_rule(*, rule: RetentionRule, months: int, until_age: int | None, source: str, stamp: Stamp) -> None:
    """Keep one class longer or shorter; the same again changes nothing."""
    if (rule.months, rule.until_age, rule.source) == (months, until_age, source):
        return
    before = rule.months
    rule.months, rule.until_age, rule.source, rule.mark = months, until_age, source, Mark.PRACTICE.value
    rule.version += 1
    rule.save()
    facts = {"of": rule.of, "months": [before, months], "until_age": until_age}
    record(rule.organisation_id, [Entry("retention_changed", facts=facts)], stamp)


def retain_for_the_day(*, at: datetime) -> list[RetentionRun]:
    """Run once a day for every organisation, however many schedules ask for it at once."""
    claims = (_claim(organisation, at) for organisation in Organisation.objects.order_by("id"))
    return [_run(claim, at, None) for claim in claims if claim]


def retain_all(*, at: datetime, today: date | None = None) -> list[RetentionRun]:
    """Run for every organisation now."""
    return [_run(_begin(each, at, today), at, today) for each in Organisation.objects.order_by("id")]


def due_of(
    organisation_id: UUID, *, at: datetime, today: date | None = None, instead: Period | None = None
) -> list[Due]:
    """What would go, by club, with one period in the place of its rule's: nothing is written."""
    periods = periods_of(organisation_id) | ({instead.of: instead} if instead else {})
    clubs = Club.objects.filter(organisation_id=organisation_id).order_by("name", "id")
    return [due_in(club, periods, today or local_day(at, club.timezone)) for club in clubs]


@transaction.atomic
def _claim(organisation: Organisation, at: datetime) -> RetentionRun | None:
    """Begin the run of the day; None when that was done, is under way, or was just tried."""
    Organisation.objects.select_for_update(no_key=True).get(id=organisation.id)
    day = local_day(at, organisation.timezone)
    done = Q(day=day, complete=True)
    under_way = Q(finished_at=None, started_at__gt=at - LEASE)
    just_tried = Q(finished_at__isnull=False, complete=False, started_at__gt=at - AGAIN_AFTER)
    runs = RetentionRun.objects.filter(organisation=organisation)
    return None if runs.filter(done | under_way | just_tried).exists() else _begin(organisation, at, None)


def _begin(organisation: Organisation, at: datetime, today: date | None) -> RetentionRun:
    day = today or local_day(at, organisation.timezone)
    return RetentionRun.objects.create(organisation=organisation, day=day, started_at=at)


def _run(run: RetentionRun, at: datetime, today: date | None) -> RetentionRun:
    stamp = own_stamp(run.organisation, at)
    left = 0
    for due in due_of(run.organisation_id, at=at, today=today):
        run.left_alone += due.left_alone
        for of, take in (*ROWS.items(), (Kept.ACCESS_LOG, _take_log)):
            setattr(run, of.value, getattr(run, of.value) + take(due, stamp))
        persons = due.players.get(Kept.IDENTITY, [])
        room = max(0, MOST_PERSONS - run.identity)
        left += len(persons[room:])
        for player_id in persons[:room]:
            _remove(run, player_id, stamp)
    run.complete = not left and not run.failed
    run.finished_at = at
    run.save()
    rewording.overwrite_freed()
    return run


def _remove(run: RetentionRun, player_id: UUID, stamp: Stamp) -> None:
    """Remove one person; what keeps it from being done today keeps no other."""
    try:
        remove_person(player=Player.objects.get(id=player_id), stamp=stamp)
    except ConflictError:
        run.left_alone += 1
    except Exception:
        logger.exception("the player %s was not removed", player_id)
        run.failed += 1
    else:
        run.identity += 1


def _chunks(ids: Sequence[UUID]) -> Iterator[Sequence[UUID]]:
    yield from (ids[start : start + CHUNK] for start in range(0, len(ids), CHUNK))


def _take_measurements(due: Due, stamp: Stamp) -> int:
    taken = 0
    for chunk in _chunks(due.players.get(Kept.MEASUREMENTS, [])):
        with transaction.atomic():
            rows = Measurement.objects.filter(player_id__in=chunk)
            ids = list(rows.values_list("id", flat=True))
            rows.delete()
            taken += _told(Kept.MEASUREMENTS, ids, len(ids), stamp)
    return taken


def _take_details(due: Due, stamp: Stamp) -> int:
    taken = 0
    for chunk in _chunks(due.players.get(Kept.FIT_DETAILS, [])):
        with transaction.atomic():
            fits = Fit.objects.filter(DETAILS, player_id__in=chunk)
            changes = PlayerChange.objects.filter(player_id__in=chunk)
            ids = [*fits.values_list("id", flat=True), *changes.values_list("id", flat=True)]
            fits.update(hairstyle="", pads_and_air="", measurement=None, version=F("version") + 1)
            changes.delete()
            taken += _told(Kept.FIT_DETAILS, ids, len(ids), stamp)
    return taken


def _take_log(due: Due, stamp: Stamp) -> int:
    taken = 0
    while due.log_before:
        with transaction.atomic():
            old = log_before(due.club, due.log_before).order_by("read_at", "id")
            ids = list(old.values_list("id", flat=True)[:CHUNK])
            MeasurementRead.objects.filter(id__in=ids).delete()
            taken += _told(Kept.ACCESS_LOG, [], len(ids), stamp)
        if len(ids) < CHUNK:
            break
    return taken


def _told(of: Kept, ids: Sequence[UUID], number: int, stamp: Stamp) -> int:
    """Forget what was sent of these rows, and write their number down."""
    if number:
        rewording.forget_bodies(list(ids))
        record(stamp.actor.organisation_id, [Entry("retention", facts={"of": of.value, "number": number})], stamp)
    return number


ROWS = {Kept.FIT_DETAILS: _take_details, Kept.MEASUREMENTS: _take_measurements}
