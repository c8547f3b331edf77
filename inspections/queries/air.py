"""What is recorded of the air in items, and what the leak tests say of them beside their team."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from fitting.domain.fit_staleness import Cause, Event
from gearlife.domain.days import local_day
from gearlife.models import Club, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from inspections.domain.air_leaks import NOTHING, WINDOW_DAYS, Verdict, by_cell, lost_much, may_say_something, verdicts
from inspections.domain.air_records import NOTHING_STATED, Act, Felt, Kept, Measured, ModelAir
from inspections.models import AirOfModel, AirRecord

NUMBERS = ("pressure_kpa", "temperature_c", "elevation_m", "barometric_kpa", "strokes")
OF_RECORD = ("item_id", "cell", "act", "felt", "happened_at", "recorded_at", "item__club__timezone", *NUMBERS)
WINDOW = timedelta(days=WINDOW_DAYS)

Team = tuple[UUID, UUID]  # club, model


def air_of_models(model_ids: Iterable[UUID]) -> dict[UUID, ModelAir]:
    """What is known of the air in each of these models, in one query; one cell where nothing is."""
    wanted = set(model_ids)
    stated = {row.model_id: row.as_stated for row in AirOfModel.objects.filter(model_id__in=wanted)}
    return {id_: stated.get(id_, NOTHING_STATED) for id_ in wanted}


def records_of(item_ids: Collection[UUID], since: datetime) -> dict[UUID, list[Kept]]:
    """All that was recorded of the items' air from a moment on, in order of time, in one query."""
    return _by_item(_records().values(items=list(item_ids), since=since))


def leaks_of(item_ids: Collection[UUID], day: date) -> dict[UUID, Verdict]:
    """What the leak tests say of items, each beside the others of its model in its club, in at most three queries.

    The others are read only where an item's own records could say something at all.
    """
    since = _window_begins(day)
    mine = records_of(item_ids, since)
    asked = {id_ for id_, records in mine.items() if may_say_something(records)}
    found = dict.fromkeys(item_ids, NOTHING)
    for team in _teams(asked, since).values() if asked else ():
        found |= verdicts(team, asked & team.keys())
    return found


def last_pressures(item_ids: Collection[UUID], day: date) -> dict[UUID, list[Kept]]:
    """The last record of each cell of which a gauge or moved air says how it is now: by item, in one query."""
    found: dict[UUID, list[Kept]] = {}
    for item_id, records in records_of(item_ids, _window_begins(day)).items():
        telling = [each for each in records if each.moves_air or each.measured.pressure_kpa is not None]
        found[item_id] = [of_cell[-1] for of_cell in by_cell(telling).values()]
    return found


def leak_row(item_id: UUID, verdict: Verdict) -> dict[str, Any]:
    """What the tests say of an item, as a row."""
    slope = verdict.slope
    interval = slope.interval if slope else None
    return {
        "item": item_id,
        "outcome": verdict.outcome.value,
        "because": verdict.because,
        "heavy": verdict.heavy,
        "loses_kpa_a_week": round(-slope.per_unit, 2) if slope else None,
        "interval_kpa_a_week": [round(-end, 2) for end in reversed(interval)] if interval else None,
        "chance": verdict.chance,
    }


def air_lost(item_ids: Collection[UUID]) -> Iterable[tuple[UUID, Event]]:
    """Every time that an item lost much air, which makes its fit stale; one query."""
    for item_id, records in _by_item(_telling().values(items=list(item_ids))).items():
        for of_cell in by_cell(records).values():
            for record in lost_much(of_cell):
                yield item_id, Event(Cause.AIR_LEAK, record.on, record.recorded_at)


def newly_told(club: Club, since: date, day: date) -> Iterable[UUID]:
    """The items of a club whose records of air are new since a day, or are new to the window's far end.

    What was recorded of others is compared with an item's own only when it is asked again.
    """
    rows = AirRecord.objects.filter(organisation_id=club.organisation_id, item__club=club)
    first, last = _midnight(since), _midnight(day + timedelta(days=1))
    leaving = Q(happened_at__gte=first - WINDOW, happened_at__lt=last - WINDOW)
    models = rows.filter(recorded_at__gte=first).values("item__model_id")
    touched = rows.filter(leaving | Q(item__model_id__in=models, happened_at__gte=first - WINDOW))
    return list(touched.order_by().values_list("item_id", flat=True).distinct())


def _teams(item_ids: Collection[UUID], since: datetime) -> Mapping[Team, dict[UUID, list[Kept]]]:
    """The records of all items that share model and club with one of these, by model and club."""
    wanted = set(Item.objects.filter(id__in=item_ids).values_list("club_id", "model_id"))
    clubs, models = [list(ids) for ids in zip(*wanted, strict=True)]
    teams: dict[Team, dict[UUID, list[Kept]]] = defaultdict(lambda: defaultdict(list))
    for club_id, model_id, *row in _of_teams().values(clubs=clubs, models=models, since=since):
        if (club_id, model_id) in wanted:
            teams[club_id, model_id][row[0]].append(_kept(row))
    return teams


def _by_item(rows: Iterable[Any]) -> dict[UUID, list[Kept]]:
    found: dict[UUID, list[Kept]] = defaultdict(list)
    for row in rows:
        found[row[0]].append(_kept(row))
    return found


def _kept(row: Any) -> Kept:  # noqa: ANN401 - a row of OF_RECORD
    _, cell, act, felt, happened_at, recorded_at, zone, *numbers = row
    on = local_day(happened_at, zone)
    return Kept(cell, Act(act), Felt(felt) if felt else None, Measured(*numbers), happened_at, recorded_at, on)


def _window_begins(day: date) -> datetime:
    return _midnight(day) - WINDOW


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time.min, UTC)


@compiled
def _records() -> QuerySet[Any, Any]:
    rows = AirRecord.objects.filter(item_id__in=given.ids("items"), happened_at__gte=given.moment("since"))
    return rows.order_by("happened_at", "id").values_list(*OF_RECORD)


@compiled
def _of_teams() -> QuerySet[Any, Any]:
    of_team = AirRecord.objects.filter(item__club_id__in=given.ids("clubs"), item__model_id__in=given.ids("models"))
    rows = of_team.filter(happened_at__gte=given.moment("since")).order_by("happened_at", "id")
    return rows.values_list("item__club_id", "item__model_id", *OF_RECORD)


@compiled
def _telling() -> QuerySet[Any, Any]:
    """All records but those that only say that nothing was needed."""
    silent = Q(felt__in=("", Felt.FIRM.value), act=Act.READING.value, pressure_kpa__isnull=True)
    rows = AirRecord.objects.filter(item_id__in=given.ids("items")).exclude(silent)
    return rows.order_by("happened_at", "id").values_list(*OF_RECORD)
