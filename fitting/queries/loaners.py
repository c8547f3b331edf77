"""Loaners: whether what was set up for a band of sizes still is, and may go out; asked at the moment, never stored."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from fitting.domain.fit_gate import due_on
from fitting.domain.loaners import Band, Spoilt, prefitted, restored, spoilt_words
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Fit, Loaner
from fitting.models.loaners import LoanerQuerySet
from fitting.queries.fit_rules import rule_of
from fitting.queries.fits import Pair, events_of_items
from fitting.queries.sizes import estimates_of
from gearlife.domain.days import local_day
from gearlife.domain.recorded import ItemRecord, Recorded
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Hold
from gearlife.queries.gate import verdicts_about
from gearlife.queries.recorded import read

# More loaners than any club lends on a day.
MOST = 300
BESIDE = ("item__club", "item__model", "item__manufacturer")


@dataclass(frozen=True)
class LoanerNow:
    """A loaner as the records have it now: why it is to be set up anew, and what speaks against handing it out."""

    loaner: Loaner
    spoilt: Sequence[str]
    against: Sequence[str]

    @property
    def ready(self) -> bool:
        """Whether it may be lent by its band: nothing recorded speaks against either."""
        return not self.spoilt and not self.against

    @property
    def is_with_a_player(self) -> bool:
        """Whether it is out."""
        return bool(self.loaner.item.whereabouts == Whereabouts.PLAYER)

    @property
    def bands(self) -> Sequence[Band]:
        """What it was set up for."""
        return bands_of(self.loaner)


def bands_of(loaner: Loaner) -> list[Band]:
    """The bands that a loaner was set up for."""
    return [restored(kept) for kept in loaner.bands]


def loaners_now(loaners: LoanerQuerySet, at: datetime) -> list[LoanerNow]:
    """These loaners that no act has ended, each as of its club's day, the smallest first.

    A fixed number of queries for each day that it is in the clubs' time zones; no more than are shown are weighed.
    """
    by_day: dict[date, list[Loaner]] = defaultdict(list)
    for row in loaners.open().select_related(*BESIDE).order_by("prepared_at", "id")[:MOST]:
        by_day[local_day(at, row.item.club.timezone)].append(row)
    return sorted((now for day, rows in by_day.items() for now in _as_of(rows, day)), key=_smallest_first)


def _as_of(rows: Sequence[Loaner], day: date) -> Iterator[LoanerNow]:
    about = read([row.item_id for row in rows], day)
    verdict_of, why = verdicts_about(about, day), spoilt(rows, about, day)
    for row in rows:
        verdict = verdict_of[row.item_id]
        against = [*(hit.because for hit in verdict.against), *_unanswered(verdict.unanswered)]
        yield LoanerNow(row, why[row.item_id], against)


def spoilt(loaners: Collection[Loaner], about: Recorded, day: date) -> dict[UUID, list[str]]:
    """Why each of these is to be set up anew, by item; empty for one that is as it was set up. Each has its item."""
    since = {row.item_id: row for row in loaners}
    words: dict[UUID, dict[date, list[str]]] = defaultdict(lambda: defaultdict(list))
    for item_id, on, said in _happened(since, about, day):
        words[item_id][on].append(said)
    return {item_id: [said for on in sorted(words[item_id]) for said in words[item_id][on]] for item_id in since}


def prefitted_pairs(pairs: Collection[Pair], about: Recorded, day: date) -> dict[Pair, str]:
    """What is said of pairs of an item to be lent and a player whose item is set up for a band still."""
    set_up = Loaner.objects.open().filter(item_id__in={item for item, _ in pairs}).select_related("item")
    rows = {row.item_id: row for row in set_up}
    why = spoilt(rows.values(), about, day) if rows else {}
    asked = [(item_id, player_id) for item_id, player_id in pairs if item_id in rows and not why[item_id]]
    measured = measures_of(player_id for _, player_id in asked)
    return {
        (item_id, player_id): prefitted(
            local_day(rows[item_id].prepared_at, about.items[item_id].timezone),
            bands_of(rows[item_id]),
            measured[player_id],
        )
        for item_id, player_id in asked
    }


def measures_of(player_ids: Iterable[UUID]) -> Mapping[UUID, Mapping[MeasurementKind, float]]:
    """The newest measure of each kind, by player; who calls tells nobody what they are."""
    estimates = estimates_of(set(player_ids))
    found: dict[UUID, Mapping[MeasurementKind, float]] = defaultdict(dict)
    found |= {id_: {kind: each.value_mm for kind, each in kinds.items()} for id_, kinds in estimates.items()}
    return found


def _happened(since: Mapping[UUID, Loaner], about: Recorded, day: date) -> Iterator[tuple[UUID, date, str]]:
    yield from _stops(since, about, day)
    yield from _worn(since, about)
    for item_id, event in events_of_items({id_: about.items[id_].timezone for id_ in since}):
        row = since[item_id]
        if event.noted_at > row.prepared_at and event.on >= _set_up_on(row, about.items[item_id]):
            yield item_id, event.on, event.words
    for item_id, row in since.items():
        item = about.items[item_id]
        if row.size != row.item.size:
            yield item_id, day, spoilt_words(Spoilt.OTHER_SIZE, day)
        seasons = about.seasons.get(item.club_id, ())
        falls_on = due_on(rule_of(about, item, day), item.facts(), _set_up_on(row, item), seasons)
        if falls_on and falls_on <= day:
            yield item_id, falls_on, spoilt_words(Spoilt.RHYTHM, falls_on)


def _stops(since: Mapping[UUID, Loaner], about: Recorded, day: date) -> Iterator[tuple[UUID, date, str]]:
    """Stops that began after it was set up, released or not: what was done about them may have changed it."""
    holds: QuerySet[Any, Any] = Hold.objects.filter(item_id__in=since, starts_on__lte=day)
    for item_id, starts_on, opened_at, released_at in holds.values_list(
        "item_id", "starts_on", "opened_at", "released_at"
    ):
        item, row = about.items[item_id], since[item_id]
        is_later = opened_at > row.prepared_at or starts_on > _set_up_on(row, item)
        never_began = released_at and local_day(released_at, item.timezone) < starts_on
        if is_later and not never_began:
            yield item_id, starts_on, spoilt_words(Spoilt.STOPPED, starts_on)


def _worn(since: Mapping[UUID, Loaner], about: Recorded) -> Iterator[tuple[UUID, date, str]]:
    """Handed out as somebody's own, or adjusted on somebody: what a loan leaves as it was is set up still."""
    own: QuerySet[Any, Any] = Assignment.objects.filter(item_id__in=since, loan=False)
    for item_id, at in own.values_list("item_id", "issued_at"):
        if at > since[item_id].prepared_at:
            on = local_day(at, about.items[item_id].timezone)
            yield item_id, on, spoilt_words(Spoilt.PLAYERS_OWN, on)
    fits: QuerySet[Any, Any] = Fit.objects.filter(item_id__in=since)
    for item_id, at, tries in fits.values_list("item_id", "fitted_at", "tries"):
        if at > since[item_id].prepared_at and any(each["remedies"] for each in tries):
            on = local_day(at, about.items[item_id].timezone)
            yield item_id, on, spoilt_words(Spoilt.ADJUSTED, on)


def _set_up_on(row: Loaner, item: ItemRecord) -> date:
    return local_day(row.prepared_at, item.timezone)


def _unanswered(kinds: Iterable[str]) -> Iterator[str]:
    return (f"The records could not be asked about `{kind}`." for kind in kinds)


def _smallest_first(now: LoanerNow) -> tuple[object, ...]:
    ends = tuple((band.measure, band.low_mm, band.high_mm) for band in now.bands)
    return (now.loaner.kind, ends, now.loaner.item.model.name, now.loaner.size, now.loaner.item_id)
