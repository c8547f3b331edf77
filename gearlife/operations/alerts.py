"""Alerts: bring what is open into line with what the concerns say; acknowledge; put off."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q, QuerySet

from gearlife.domain.access import Stamp
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.recorded import Recorded
from gearlife.domain.sweep_age import CLOCKS_DIFFER_BY
from gearlife.domain.vocabulary import Severity
from gearlife.models import Alert, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.models.inserting import insert_all
from gearlife.operations.messages.stops import tell_stops
from gearlife.queries.concerns import ask
from gearlife.queries.recorded import read

DELIVERED = ("advice", "severity", "stage", "falls_on", "because", "version")
NOTICED = ("acknowledged_at", "acknowledged_by", "acknowledged_note", "told_whom", "told_at", "version")

_waiting: ContextVar[set[UUID] | None] = ContextVar("items whose alerts wait", default=None)


@dataclass
class Refreshed:
    """How many alerts a refresh opened, changed and closed, and which concerns failed to answer."""

    opened: int = 0
    changed: int = 0
    closed: int = 0
    failed: list[str] = field(default_factory=list)


def refresh(about: Recorded, day: date, at: datetime) -> Refreshed:
    """Open, move and close alerts of the items read; asked twice, the second time changes nothing."""
    answer = ask(replace(about, asked_at=at), day, Reach.LEAD)
    wanted = {hit.key: hit for hit in answer.hits}
    clubs = {item.club_id for item in about.items.values()}
    open_ones = _open_alerts().instances(items=list(about.items), clubs=clubs)
    known = {alert.key: alert for alert in open_ones}
    stopped_before = {alert.id for alert in open_ones if alert.severity == Severity.STOP}
    same = {key for key, alert in known.items() if key in wanted and _is_same(alert, wanted[key])}
    changed = [known[key] for key in sorted(same) if _moves(known[key], wanted[key], day)]
    # A concern that failed says nothing: what it said before stands.
    closed = _close([a.id for key, a in known.items() if key not in same and a.kind not in answer.failed], at)
    new = _opened([hit for key, hit in wanted.items() if key not in same], about, day, at)
    Alert.objects.bulk_update(changed, DELIVERED, batch_size=200)
    tell_stops([a for a in (*new, *changed) if a.severity == Severity.STOP and a.id not in stopped_before], at)
    return Refreshed(len(new), len(changed), closed, answer.failed)


def _is_same(alert: Alert, hit: Hit) -> bool:
    """Whether what was noted of the alert answers the hit as well; if not, that is another alert, and is told anew."""
    if alert.acknowledged_at is None or hit.severity is not Severity.STOP:
        return alert.player_id == hit.player_id
    return not hit.is_news(player_id=alert.player_id, because=alert.because)


def _close(gone: list[UUID], at: datetime) -> int:
    if not gone:
        return 0
    return Alert.objects.open().filter(id__in=gone).update(closed_at=at, version=F("version") + 1)


@compiled
def _open_alerts() -> QuerySet[Any, Any]:
    of_clubs = Q(item__isnull=True, club_id__in=given.ids("clubs"))
    return Alert.objects.open().filter(Q(item_id__in=given.ids("items")) | of_clubs)


def _moves(alert: Alert, hit: Hit, day: date) -> bool:
    """Write the hit onto the alert; whether anything differs. The day of a club's own alert does not move it."""
    values = _values(hit, day)
    if alert.item_id is None:
        values["falls_on"] = alert.falls_on
        values["stage"] = alert.stage
    differs = any(getattr(alert, name) != value for name, value in values.items())
    for name, value in values.items():
        setattr(alert, name, value)
    alert.version += differs
    return differs


def _values(hit: Hit, day: date) -> dict[str, object]:
    return {
        "advice": hit.advice.value,
        "severity": hit.severity.value,
        "stage": hit.stage(day).value,
        "falls_on": hit.falls_on,
        "because": hit.because,
        "player_id": hit.player_id,
    }


def _opened(hits: list[Hit], about: Recorded, day: date, at: datetime) -> list[Alert]:
    if not hits:
        return []
    organisations = {item.club_id: item.organisation_id for item in about.items.values()}
    alerts = [
        Alert(
            organisation_id=organisations[hit.club_id],
            club_id=hit.club_id,
            key=hit.key,
            kind=hit.kind,
            item_id=hit.item_id,
            opened_at=at,
            **_values(hit, day),
        )
        for hit in hits
    ]
    # Two sweeps at once want the same rows: the open key's constraint lets one of each through.
    insert_all(alerts, unless_there=True)
    return alerts


def refresh_ids(item_ids: Iterable[UUID], stamp: Stamp) -> None:
    """Refresh the alerts of items that an act just touched; at the end, where many acts are made at once."""
    waiting = _waiting.get()
    if waiting is None:
        refresh(read(item_ids, stamp.day), stamp.day, stamp.at)
    else:
        waiting.update(item_ids)


def refresh_read(about: Recorded, stamp: Stamp) -> None:
    """The same for items of which everything that is recorded has been read already."""
    waiting = _waiting.get()
    if waiting is None:
        refresh(about, stamp.day, stamp.at)
    else:
        waiting.update(about.items)


@contextmanager
def at_the_end(stamp: Stamp) -> Iterator[None]:
    """Refresh alerts once, as of the stamp, for all that the acts inside touch: for a history that is told at once.

    Alerts are delivery: the gate and the worn list inside are as right as ever. An error inside refreshes nothing.
    """
    touched: set[UUID] = set()
    token = _waiting.set(touched)
    try:
        yield
    finally:
        _waiting.reset(token)
    refresh_ids(touched, stamp)


@transaction.atomic
def acknowledge(*, alert: Alert, note: str, told_whom: str, told_at: datetime | None, stamp: Stamp) -> None:
    """Somebody has taken notice; the alert stays open while its cause persists."""
    if told_at and told_at > stamp.at + CLOCKS_DIFFER_BY:
        raise InvalidInputError.at("/told_at", "This lies in the future: give the moment when they were told.")
    _lock_open(alert)
    alert.acknowledged_at = alert.acknowledged_at or stamp.at
    alert.acknowledged_by_id = alert.acknowledged_by_id or stamp.actor.user_id
    alert.acknowledged_note = note or alert.acknowledged_note
    alert.told_whom = told_whom or alert.told_whom
    alert.told_at = told_at or alert.told_at or (stamp.at if told_whom else None)
    alert.version += 1
    alert.save(update_fields=NOTICED)


@transaction.atomic
def tell_of(*, item: Item, note: str, told_whom: str, told_at: datetime | None, stamp: Stamp) -> None:
    """Somebody was told that a player must not wear the item: every stop of it is noticed at once.

    The records are asked first, so that it can be said of a stop that no sweep has announced yet. ConflictError when
    nothing says that somebody must not wear it.
    """
    Item.objects.lock([item.id])
    refresh(read([item.id], stamp.day), stamp.day, stamp.at)
    stops = list(Alert.objects.open().filter(item=item, severity=Severity.STOP.value).order_by("id"))
    if not stops:
        words = "Nothing is recorded any more that somebody must not wear it: there is nobody to be told."
        raise ConflictError(words, code="nothing_to_tell")
    for alert in stops:
        acknowledge(alert=alert, note=note, told_whom=told_whom, told_at=told_at, stamp=stamp)


@transaction.atomic
def put_off(*, alert: Alert, until: date, reason: str, stamp: Stamp) -> None:
    """Put an alert off to a day, with a reason; it stays open, and a stop can't be put off."""
    _lock_open(alert)
    if alert.severity == Severity.STOP:
        words = "Gear that must not be worn cannot be put off: take it off the player."
        raise ConflictError(words, code="stop_not_put_off")
    if until <= stamp.day:
        raise InvalidInputError.at("/until", "Put it off to a day that is still to come.")
    alert.put_off_until = until
    alert.put_off_reason = reason
    alert.put_off_by_id = stamp.actor.user_id
    alert.version += 1
    alert.save(update_fields=["put_off_until", "put_off_reason", "put_off_by", "version"])


def _lock_open(alert: Alert) -> None:
    """Read the row anew under its lock: a sweep may have moved or closed it since; ConflictError when closed."""
    alert.refresh_from_db(from_queryset=Alert.objects.select_for_update(of=("self",)))
    if alert.closed_at:
        raise ConflictError("This alert has closed by itself: its cause is gone.", code="alert_closed")
