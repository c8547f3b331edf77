"""What players have and must not wear, asked of the records at the moment: no sweep has to have run before."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import reduce
from operator import or_
from typing import Any
from uuid import UUID

from django.db.models import F, Q

from gearlife.domain.concerns import Hit, Reach, sentences
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.recorded import ItemRecord, Recorded
from gearlife.domain.today import Gear, Stop, Told
from gearlife.domain.vocabulary import Advice, Effect, Kind, Severity, Standing, Whereabouts
from gearlife.models import Alert, Item, ItemQuerySet
from gearlife.queries.concerns import ask, registered
from gearlife.queries.concerns.facts import WornStoppedConcern
from gearlife.queries.holders import Holder, called, holders_of
from gearlife.queries.recorded import read

# Where an item may be on somebody's head: with a player, or nobody knows where.
PERHAPS_WORN = (Whereabouts.PLAYER.value, Whereabouts.MISSING.value)
WORN = WornStoppedConcern.kind
# So many whose stored clocks are of an older policy are reckoned for one answer; a worker reckons the others.
MOST_STALE = 2_000
NOTED = ("key", "player_id", "because", "told_whom", "told_at", "acknowledged_note")


@dataclass(frozen=True)
class Worn:
    """The stops, which questions had no answer, and of how many items the clocks are not reckoned yet."""

    stops: list[Stop]
    failed: frozenset[str]
    unread: int


def worn_stops(items: ItemQuerySet, day: date) -> Worn:
    """Those of these items that somebody has and must not wear, in a fixed number of queries."""
    ids, unread = _candidates(items.filter(whereabouts__in=PERHAPS_WORN), day)
    about = read(ids, day)
    answer = ask(about, day, Reach.NOW)
    hits: dict[UUID, list[Hit]] = defaultdict(list)
    for hit in answer.hits:
        if hit.item_id and hit.effect is Effect.STOP and hit.severity is not Severity.PLAN:
            hits[hit.item_id].append(hit)
    stopped = [item.id for item in about.items.values() if _is_stopped(about, item, hits[item.id], day)]
    known = Known.of(stopped, hits)
    stops = [known.stop(about.items[id_], hits[id_], day) for id_ in stopped]
    return Worn(stops, frozenset(answer.failed), unread)


def _candidates(items: ItemQuerySet, day: date) -> tuple[list[UUID], int]:
    """Stopped by their own rows, called a stop by a concern's, or with clocks that the rows do not answer for."""
    besides = [q for concern in registered() if (q := concern.stops_besides()) is not None]
    stopped = items.with_standing(day).filter(reduce(or_, besides, ~Q(standing=Standing.NO_STOP.value)))
    stale: list[UUID] = list(items.with_stale_clocks().order_by("id").values_list("id", flat=True))
    ids = {*stopped.order_by().values_list("id", flat=True), *stale[:MOST_STALE]}
    return sorted(ids), len(stale[MOST_STALE:])


def _is_stopped(about: Recorded, item: ItemRecord, hits: Iterable[Hit], day: date) -> bool:
    """What a concern says, and what the records say by themselves where a concern does not answer."""
    if any(hit.severity is Severity.STOP for hit in hits):
        return True
    return item.whereabouts is Whereabouts.PLAYER and about.standing(item, day) is not Standing.NO_STOP


@dataclass(frozen=True)
class Known:
    """What is known besides of items that are stopped: what they are, who has them, who was told."""

    gear: Mapping[UUID, Gear]
    holders: Mapping[UUID, Holder]
    last: Mapping[UUID, Holder]
    noted: Mapping[str, Mapping[str, Any]]

    @classmethod
    def of(cls, ids: Sequence[UUID], hits: Mapping[UUID, Sequence[Hit]]) -> "Known":
        """Four queries; none where there is no item."""
        if not ids:
            return cls({}, {}, {}, {})
        alerts = Alert.objects.open().filter(item_id__in=ids, severity=Severity.STOP.value).exclude(told_whom="")
        rows = alerts.values(*NOTED, by=F("acknowledged_by__username"))
        held = holders_of(ids)
        last = called(hit.player_id for id_ in ids if id_ not in held for hit in hits[id_] if hit.player_id)
        return cls(gear_of(ids), held, last, {row["key"]: row for row in rows})

    def stop(self, item: ItemRecord, hits: Sequence[Hit], day: date) -> Stop:
        """One item in words, with whoever has it, or had it last where it is missing."""
        last = (self.last.get(hit.player_id) for hit in hits if hit.player_id)
        holder = self.holders.get(item.id) or next(filter(None, last), None)
        announced = [hit for hit in hits if hit.severity is Severity.STOP]
        reasons = _reasons(hits)
        since = min((hit.falls_on for hit in hits), default=day)
        return Stop(
            gear=self.gear[item.id],
            because=reasons or ("The records say stop, and could not be asked why.",),
            since=None if since == UNKNOWN_DAY else since,
            kinds=frozenset(hit.kind for hit in hits),
            advice=announced[0].advice if announced else Advice.REPLACE,
            missing=item.whereabouts is Whereabouts.MISSING,
            player_id=holder.player_id if holder else None,
            player=holder.label if holder else "",
            number=holder.number if holder else None,
            told=self.told(announced),
        )

    def told(self, announced: Sequence[Hit]) -> Told | None:
        """Who was told, when that answers all that is against it."""
        rows = [self._answer(hit) for hit in announced]
        if not rows or None in rows:
            return None
        row = rows[0] or {}
        return Told(row["told_whom"], row["told_at"], row["by"] or "", row["acknowledged_note"])

    def _answer(self, hit: Hit) -> Mapping[str, Any] | None:
        row = self.noted.get(hit.key)
        return None if row is None or hit.is_news(player_id=row["player_id"], because=row["because"]) else row


def gear_of(ids: Iterable[UUID]) -> dict[UUID, Gear]:
    """Items as people know them, in one query."""
    columns = ("id", "kind", "serial", "tag", "model__name", "size", "club__code", "team__name")
    rows = Item.objects.filter(id__in=list(ids)).values_list(*columns)
    return {
        id_: Gear(id_, Kind(kind), serial, tag, model, size, club, team or "")
        for id_, kind, serial, tag, model, size, club, team in rows
    }


def _reasons(hits: Sequence[Hit]) -> tuple[str, ...]:
    """What is against it; of what repeats that for its wearer only the rest."""
    plain = [hit.because for hit in hits if hit.severity is not Severity.STOP]
    stops = [hit.because for hit in hits if hit.severity is Severity.STOP and hit.kind != WORN]
    return (*plain, *filter(None, (_without(plain, words) for words in stops)))


def _without(said: Iterable[str], words: str) -> str:
    rest = words
    for each in said:
        rest = rest.replace(each, "")
    # What then remains as one sentence only says that there was something to be said.
    return "" if rest != words and len(sentences(rest.strip())) == 1 else " ".join(rest.split())
