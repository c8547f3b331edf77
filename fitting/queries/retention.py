"""What is due to go, by class and club: asked the same way by the dry run and by the run itself."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Count, Max, Q, QuerySet

from fitting.domain.retention import Kept, Period, Person, due_on, oldest_kept
from fitting.models import (
    Assignment,
    CountedGear,
    CountedReturn,
    Fit,
    Measurement,
    MeasurementRead,
    Player,
    PlayerChange,
    RetentionRule,
)
from fitting.queries.persons import bars
from gearlife.domain.days import local_day
from gearlife.domain.ids import made_at
from gearlife.models import Club
from gearlife.queries.recorded import seasons_of

DETAILS = ~Q(hairstyle="") | ~Q(pads_and_air="") | Q(measurement__isnull=False)
BODY = (Kept.MEASUREMENTS, Kept.FIT_DETAILS)
# What using gear leaves behind, by whose it is and the column with its day.
USES: Sequence[tuple[type[Any], str, str]] = (
    (Assignment, "player", "issued_at"),
    (Assignment, "player", "returned_at"),
    (CountedGear, "player", "handed_out_at"),
    (CountedReturn, "counted_gear__player", "returned_at"),
    (Fit, "player", "fitted_at"),
    (Measurement, "player", "taken_on"),
    (PlayerChange, "player", "happened_on"),
)


@dataclass
class Due:
    """What is due in one club on its day: players by class, in order, and rows of the log by number."""

    club: Club
    day: date
    players: dict[Kept, list[UUID]] = field(default_factory=dict)
    counts: Counter[Kept] = field(default_factory=Counter)
    left_alone: int = 0
    log_before: datetime | None = None


def periods_of(organisation_id: UUID) -> dict[Kept, Period]:
    """The organisation's rules."""
    rules = RetentionRule.objects.filter(organisation_id=organisation_id)
    return {period.of: period for period in (rule.as_period() for rule in rules)}


def due_in(club: Club, periods: Mapping[Kept, Period], day: date) -> Due:
    """Ask one club, in a number of queries that does not grow with its players."""
    due = Due(club, day)
    rows = list(Player.objects.filter(club=club).order_by("id").values("id", "birth_year", "removed_at"))
    ids = [row["id"] for row in rows]
    held = {Kept.MEASUREMENTS: _count(Measurement.objects, ids), Kept.FIT_DETAILS: _details(ids)}
    persons, gone = _persons(club, rows), {row["id"] for row in rows if row["removed_at"]}
    held[Kept.IDENTITY] = Counter(dict.fromkeys(set(ids) - gone, 1))
    wanted = {
        of: [id_ for id_ in ids if held[of][id_] and (id_ in gone or due_on(periods[of], persons[id_]) <= day)]
        for of in (*BODY, Kept.IDENTITY)
        if of in periods
    }
    barred = bars({id_ for found in wanted.values() for id_ in found} - gone)
    due.left_alone = len(barred)
    for of, found in wanted.items():
        due.players[of] = [id_ for id_ in found if id_ not in barred]
        due.counts[of] = sum(held[of][id_] for id_ in due.players[of])
    if period := periods.get(Kept.ACCESS_LOG):
        oldest = oldest_kept(period, day)
        due.log_before = datetime.combine(oldest, time.min, ZoneInfo(club.timezone))
        due.counts[Kept.ACCESS_LOG] = log_before(club, due.log_before).count()
    return due


def log_before(club: Club, moment: datetime) -> QuerySet[MeasurementRead]:
    """What of the log is older."""
    return MeasurementRead.objects.filter(player__club=club, read_at__lt=moment)


def _persons(club: Club, rows: Iterable[Mapping[str, Any]]) -> dict[UUID, Person]:
    """Each player with the last day of any use; who never used anything, with the day of being added."""
    last: dict[UUID, date] = {row["id"]: local_day(made_at(row["id"]), club.timezone) for row in rows}
    for table, player, column in USES:
        found = table.objects.filter(**{f"{player}__club": club}).order_by().values_list(player)
        for id_, latest in found.annotate(latest=Max(column)):
            if latest is not None:
                day = local_day(latest, club.timezone) if isinstance(latest, datetime) else latest
                last[id_] = max(last.get(id_, day), day)
    seasons = tuple(seasons_of([club.id]).get(club.id, ()))
    return {row["id"]: Person(last[row["id"]], row["birth_year"], seasons) for row in rows}


def _count(rows: Any, ids: Sequence[UUID]) -> Counter[UUID]:  # noqa: ANN401 - a manager or a queryset
    counted = rows.filter(player_id__in=ids).order_by().values_list("player").annotate(number=Count("id"))
    return Counter(dict(counted))


def _details(ids: Sequence[UUID]) -> Counter[UUID]:
    return _count(Fit.objects.filter(DETAILS), ids) + _count(PlayerChange.objects, ids)


def totals(found: Iterable[Due]) -> dict[str, int]:
    """The numbers of all clubs together, by class, and who was left alone."""
    counts: dict[str, int] = defaultdict(int)
    for due in found:
        for of in Kept:
            counts[of.value] += due.counts[of]
        counts["left_alone"] += due.left_alone
    return dict(counts)
