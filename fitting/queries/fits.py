"""How items last sat on players, and what has made a fit stale since: read for many pairs at once."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from fitting.domain.fit_staleness import MEASURED_FOR, Cause, Event, Fitted, Taken, stale_because
from fitting.domain.measuring import measured
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Fit, Measurement, Player, PlayerChange
from gearlife.domain.days import local_day
from gearlife.domain.vocabulary import CertificationKind, Kind
from gearlife.models import Certification
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled

Pair = tuple[UUID, UUID]  # item, player
# What other packages know of an item that makes a fit stale: ids in, each with its event out.
Source = Callable[[Collection[UUID]], Iterable[tuple[UUID, Event]]]
_sources: list[Source] = []


def register_fit_events(*sources: Source) -> None:
    """Add what makes the fits of an item stale: a pad put in that is not the same, air lost."""
    _sources.extend(sources)


def last_fits(pairs: Iterable[Pair]) -> dict[Pair, Fit]:
    """The last fitting of each of these pairs of item and player, accepted or not, in one query."""
    wanted = set(pairs)
    if not wanted:
        return {}
    items, players = {item for item, _ in wanted}, {player for _, player in wanted}
    found: dict[Pair, Fit] = {}
    for fit in _fits().instances(items=list(items), players=list(players)):
        if (fit.item_id, fit.player_id) in wanted:
            found[fit.item_id, fit.player_id] = fit
    return found


def fits_of_worn(item_ids: Collection[UUID]) -> dict[UUID, Fit]:
    """The last fitting of each item on whoever has it now, by item, in one query."""
    return {fit.item_id: fit for fit in _worn_fits().instances(items=list(item_ids))}


def stale(fits: Iterable[Fit], due: Mapping[UUID, date | None] | None = None) -> dict[UUID, list[Event]]:
    """What has made each of these fits stale, by the fit's id; `due` has the day on which each falls due by rhythm.

    A fixed number of queries, however many the fits; none without any. Each fit has its item with club and its
    measurement beside it.
    """
    asked = list(fits)
    if not asked:
        return {}
    events, taken = _events(asked), _taken({fit.player_id for fit in asked})
    found = {}
    for fit in asked:
        happened = [*events[fit.item_id, fit.player_id], *_by_rhythm((due or {}).get(fit.id))]
        found[fit.id] = stale_because(_fitted(fit), happened, taken[fit.player_id])
    return found


def measurement_behind(player: Player, kind: Kind) -> Measurement | None:
    """The player's last measurement that a fit of this kind rests on."""
    of_kind = Measurement.objects.filter(player=player, kind__in=[each.value for each in MEASURED_FOR[kind]])
    found: Measurement | None = of_kind.order_by("-taken_on", "-recorded_at", "id").first()
    return found


def _fitted(fit: Fit) -> Fitted:
    zone = fit.item.club.timezone
    taken = _as_taken(fit.measurement) if fit.measurement else None
    return Fitted(Kind(fit.item.kind), fit.fitted_at, local_day(fit.fitted_at, zone), taken)


def _by_rhythm(due_on: date | None) -> list[Event]:
    return [Event(Cause.RHYTHM, due_on, datetime.combine(due_on, time.min, UTC))] if due_on else []


def _events(fits: list[Fit]) -> Mapping[Pair, list[Event]]:
    """Everything recorded of the pairs' items and players that may make a fit stale."""
    items, players = {fit.item_id: fit.item.club.timezone for fit in fits}, {fit.player_id for fit in fits}
    of_item: dict[UUID, list[Event]] = defaultdict(list)
    for item_id, event in events_of_items(items):
        of_item[item_id].append(event)
    of_player: dict[UUID, list[Event]] = defaultdict(list)
    changes = PlayerChange.objects.filter(player_id__in=players)
    for player_id, kind, on, noted in changes.values_list("player_id", "kind", "happened_on", "recorded_at"):
        of_player[player_id].append(Event(Cause(kind), on, noted))
    others = _of_others(items)
    return {
        (fit.item_id, fit.player_id): [
            *of_item[fit.item_id],
            *of_player[fit.player_id],
            *(event for player_id, event in others[fit.item_id] if player_id != fit.player_id),
        ]
        for fit in fits
    }


def events_of_items(items: Mapping[UUID, str]) -> Iterable[tuple[UUID, Event]]:
    """What was recorded of the items themselves that makes any fit of them stale, by item; `items` have time zones."""
    done = Certification.objects.filter(item_id__in=items).exclude(kind=CertificationKind.ORIGINAL.value)
    for item_id, on, year, noted in done.values_list("item_id", "certified_on", "label_year", "recorded_at"):
        yield item_id, Event(Cause.RECONDITIONED, on or date(year, 12, 31), noted)
    for source in _sources:
        yield from source(list(items))


def _of_others(items: Mapping[UUID, str]) -> Mapping[UUID, list[tuple[UUID, Event]]]:
    """Who else was fitted with the items, or had them, with each event."""
    found: dict[UUID, list[tuple[UUID, Event]]] = defaultdict(list)
    fitted: QuerySet[Any, Any] = Fit.objects.filter(item_id__in=items).values_list("item_id", "player_id", "fitted_at")
    had: QuerySet[Any, Any] = Assignment.objects.filter(item_id__in=items)
    for item_id, player_id, at in [*fitted, *had.values_list("item_id", "player_id", "issued_at")]:
        found[item_id].append((player_id, Event(Cause.ANOTHER_PLAYER, local_day(at, items[item_id]), at)))
    return found


def _taken(player_ids: Iterable[UUID]) -> Mapping[UUID, list[Taken]]:
    found: dict[UUID, list[Taken]] = defaultdict(list)
    for row in Measurement.objects.filter(player_id__in=list(player_ids)):
        found[row.player_id].append(_as_taken(row))
    return found


def _as_taken(row: Measurement) -> Taken:
    kind = MeasurementKind(row.kind)
    return Taken(kind, row.protocol, measured(row.readings_mm, kind).value_mm, row.taken_on, row.recorded_at)


@compiled
def _fits() -> QuerySet[Fit]:
    fits = Fit.objects.filter(item_id__in=given.ids("items"), player_id__in=given.ids("players"))
    rows: QuerySet[Fit] = fits.select_related("item__club", "measurement").order_by("fitted_at", "recorded_at", "id")
    return rows


@compiled
def _worn_fits() -> QuerySet[Fit]:
    worn = Fit.objects.filter(
        item_id__in=given.ids("items"),
        item__assignments__returned_at__isnull=True,
        item__assignments__player_id=F("player_id"),
    )
    rows: QuerySet[Fit] = worn.select_related("item__club", "measurement").order_by("fitted_at", "recorded_at", "id")
    return rows
