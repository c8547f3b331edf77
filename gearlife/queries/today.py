"""What a day asks of an actor: stops asked of the records, matters as alerts delivered them, limits of the week."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import CharField, Count, F, Max, Min, OuterRef, Q, QuerySet
from django.db.models.expressions import Exists
from django.db.models.functions import Cast

from gearlife.domain.today import WEEK, Answered, Due, Gear, Matter, PutOff, joined
from gearlife.domain.vocabulary import Advice, Effect, Kind, Severity, Whereabouts
from gearlife.models import Alert, Clock, Hold, ItemQuerySet
from gearlife.models.alerts import AlertQuerySet
from gearlife.models.clocks import ClockQuerySet
from gearlife.queries.worn import worn_stops

Row = dict[str, Any]
MEANING = ("kind", "advice", "severity", "falls_on", "put_off_until", "put_off_reason")
NAMED = {"club_code": F("club__code"), "gear_kind": F("item__kind"), "by": F("put_off_by__username")}
# A limit of these is somebody's work: an item that is at the reconditioner or gone is not in anybody's hands.
IN_HAND = (Whereabouts.STOCK.value, Whereabouts.PLAYER.value)
REPAIR = "repair"


def asked_today(items: ItemQuerySet, alerts: AlertQuerySet, day: date) -> Answered:
    """All of it about these items, as of a day, in a fixed number of queries."""
    worn = worn_stops(items, day)
    stopped = [stop.gear.id for stop in worn.stops]
    matters = matters_of(not_stops(alerts).exclude(item_id__in=stopped), day)
    week = _week(items.exclude(id__in=stopped), day)
    return Answered(
        stops=worn.stops,
        now=joined(matter for matter in matters if not matter.put_off and matter.severity is Severity.ACT),
        put_off=joined(matter for matter in matters if matter.put_off),
        plan=joined(matter for matter in matters if not matter.put_off and matter.severity is Severity.PLAN),
        week=week,
        next=week[0] if week else _next(items, day),
        failed=worn.failed,
        unread=worn.unread,
    )


def not_stops(alerts: AlertQuerySet) -> AlertQuerySet:
    """Open alerts but for stops: those are asked of the records."""
    return alerts.open().exclude(severity=Severity.STOP.value)


def matters_of(alerts: AlertQuerySet, day: date) -> list[Matter]:
    """These alerts by meaning and day, counted by the database."""
    rows = (
        alerts.order_by()
        .values(*MEANING, **NAMED)
        .annotate(
            count=Count("id"),
            noticed=Count("acknowledged_at"),
            first_because=Min("because"),
            last_because=Max("because"),
            alert=Min(Cast("id", CharField())),
            **_one("item__"),
        )
    )
    return [_matter(row, day) for row in rows]


def _one(item: str) -> Mapping[str, Min]:
    """The columns that name an item, where there is but one."""
    return {
        "one_id": Min(Cast(f"{item}id", CharField())),
        "one_serial": Min(f"{item}serial"),
        "one_tag": Min(f"{item}tag"),
        "one_model": Min(f"{item}model__name"),
        "one_size": Min(f"{item}size"),
        "one_team": Min(f"{item}team__name"),
    }


def _gear(row: Row) -> Gear | None:
    if row["count"] != 1 or not row["one_id"]:
        return None
    known = {name: row[f"one_{name}"] for name in ("serial", "tag", "model", "size")}
    id_, kind, team = UUID(row["one_id"]), Kind(row["gear_kind"]), row["one_team"] or ""
    return Gear(id=id_, kind=kind, club=row["club_code"], team=team, **known)


def _spoken(row: Row) -> Row:
    gear = Kind(row["gear_kind"]) if row["gear_kind"] else None
    return {
        "club": row["club_code"],
        "gear": gear,
        "falls_on": row["falls_on"],
        "count": row["count"],
        "one": _gear(row),
    }


def _matter(row: Row, day: date) -> Matter:
    until = row["put_off_until"]
    put_off = PutOff(until, row["put_off_reason"], row["by"] or "") if until and until > day else None
    return Matter(
        **_spoken(row),
        kind=row["kind"],
        advice=Advice(row["advice"]),
        severity=Severity(row["severity"]),
        because=row["first_because"] if row["first_because"] == row["last_because"] else "",
        noticed=row["noticed"],
        put_off=put_off,
        alert_id=UUID(row["alert"]) if row["count"] == 1 else None,
    )


def _week(items: ItemQuerySet, day: date) -> list[Due]:
    """Limits that fall, and repairs that are to be done, from the day to seven days later; none that is told above."""
    falls = _clocks(items, day).filter(falls_on__gte=day, falls_on__lte=day + WEEK)
    repairs = _later_holds(items, day).filter(starts_on__lte=day + WEEK)
    dues = [*_dues(falls.exclude(_told(day))), *_repairs(repairs)]
    return sorted(dues, key=lambda due: (due.falls_on, due.effect is not Effect.STOP, -due.count, due.code, due.club))


def _next(items: ItemQuerySet, day: date) -> Due | None:
    """What falls first after the week."""
    falls = _clocks(items, day).filter(falls_on__gt=day + WEEK)
    return next(iter(_dues(falls, most=1)), None)


def _clocks(items: ItemQuerySet, day: date) -> ClockQuerySet:
    """Clocks that run, of items in somebody's hands, but for those that an older policy left."""
    current = items.filter(whereabouts__in=IN_HAND, clocks_revision__gte=F("club__policy_revision"))
    clocks: ClockQuerySet = Clock.objects.running(day)
    return clocks.filter(item__in=current.order_by().values("id"), until__gte=F("falls_on"))


def _later_holds(items: ItemQuerySet, day: date) -> QuerySet[Hold]:
    return Hold.objects.open().filter(item__in=items.order_by().values("id"), deferred=True, starts_on__gt=day)


def _told(day: date) -> Exists:
    """Whether an alert tells of the same fall already: as a matter of now, or as put off."""
    same = Alert.objects.open().filter(item=OuterRef("item"), falls_on=OuterRef("falls_on"))
    return Exists(same.filter(Q(severity=Severity.ACT.value) | Q(put_off_until__gt=day)))


def _dues(clocks: ClockQuerySet, most: int | None = None) -> Iterable[Due]:
    rows: QuerySet[Any, Any] = clocks.values(
        "code", "effect", "falls_on", club_code=F("item__club__code"), gear_kind=F("item__kind")
    ).annotate(count=Count("item", distinct=True), **_one("item__"))
    for row in rows.order_by("falls_on", "-count", "code")[:most]:
        yield Due(**_spoken(row), code=row["code"], effect=Effect(row["effect"]))


def _repairs(holds: QuerySet[Hold]) -> Iterable[Due]:
    rows: QuerySet[Any, Any] = (
        holds.order_by()
        .values(falls_on=F("starts_on"), club_code=F("item__club__code"), gear_kind=F("item__kind"))
        .annotate(count=Count("item", distinct=True), **_one("item__"))
    )
    for row in rows:
        yield Due(**_spoken(row), code=REPAIR, effect=Effect.STOP)
