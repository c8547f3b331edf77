"""Concerns about recorded facts: holds, retirement, whereabouts, and what came back and was not looked over since."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from uuid import UUID

from django.db.models import F, Q

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day, start_of
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.vocabulary import Advice, Effect, Severity, Whereabouts
from gearlife.models import Clock, Hold, ItemQuerySet, Season
from gearlife.models.clocks import season_end, stop_clocks
from gearlife.queries.concerns.registry import Concern
from gearlife.queries.holders import holders_of

PLACES = {
    Whereabouts.PLAYER: "It is with a player.",
    Whereabouts.RECONDITIONER: "It is at the reconditioner.",
    Whereabouts.MISSING: "It is missing.",
    Whereabouts.DISPOSED: "It has been disposed of.",
}
REPAIR_LEAD = timedelta(days=3)
IN_HAND = "Note who was told and when; this ends with the item in hand."


class HoldConcern(Concern):
    """A hold in force; for the gate also one that begins before the season's last game."""

    kind = "hold"
    deferred = False

    def holds(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hold]:
        """Open holds within reach."""
        holds = Hold.objects.open().filter(item__in=items.order_by(), deferred=self.deferred)
        match reach:
            case Reach.NOW:
                reached = holds.filter(starts_on__lte=day)
            case Reach.LEAD:
                reached = holds.filter(starts_on__lte=day + REPAIR_LEAD if self.deferred else day)
            case _:
                later = holds.annotate(season_end=season_end("item__club_id", day))
                reached = later.filter(Q(starts_on__lte=day) | Q(starts_on__lte=F("season_end")))
        return reached.select_related("item").iterator()

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per hold; holds of one item become one hit."""
        for hold in self.holds(items, day, reach):
            yield Hit(
                kind=self.kind,
                effect=Effect.STOP,
                advice=Advice(hold.advice),
                severity=Severity.ACT if hold.starts_on <= day else Severity.PLAN,
                club_id=hold.item.club_id,
                item_id=hold.item_id,
                falls_on=hold.starts_on,
                because=self.words(hold, day),
            )

    def words(self, hold: Hold, day: date) -> str:
        """Why it is held, or from when it will be."""
        reference = f" ({hold.reference})" if hold.reference else ""
        return f"Held {'since' if hold.starts_on <= day else 'from'} {hold.starts_on}{reference}: {hold.reason}"


class RepairConcern(HoldConcern):
    """A repair that was put to a day: announced before it, a stop from it on."""

    kind = "repair"
    deferred = True

    def words(self, hold: Hold, day: date) -> str:
        """What is to be repaired, and by when."""
        verb = "was to be dealt with by" if hold.starts_on <= day else "is to be dealt with by"
        return f"A repair {verb} {hold.starts_on}: {hold.reason}"


class RetiredConcern(Concern):
    """Retired: it never goes out again."""

    kind = "retired"
    announces = False

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per retired item."""
        for item in items.filter(retired_on__isnull=False).iterator():
            words = f"Retired on {item.retired_on}: {item.retired_reason}"
            yield _of_item(item.id, item.club_id, self.kind, Effect.STOP, item.retired_on or day, words)


class WhereaboutsConcern(Concern):
    """Not in the room: it cannot be handed out from where it is."""

    kind = "not_in_stock"
    announces = False

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item that is elsewhere; asked by the gate alone."""
        if reach is not Reach.SEASON:
            return
        for row in items.exclude(whereabouts=Whereabouts.STOCK.value).values("id", "club_id", "whereabouts"):
            words = PLACES[Whereabouts(row["whereabouts"])]
            yield _of_item(row["id"], row["club_id"], self.kind, Effect.NO_ISSUE, day, words)


class SinceBackConcern(Concern):
    """Came back, was found or was reconditioned, and has had no full inspection since."""

    kind = "not_inspected_since_back"

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item whose last full inspection is older than its return; but for the gate, in the room alone."""
        never = Q(last_full_inspection_at__isnull=True) | Q(last_full_inspection_at__lt=F("came_back_at"))
        back = items.filter(never, retired_on__isnull=True, came_back_at__isnull=False)
        if reach is not Reach.SEASON:
            back = back.filter(whereabouts=Whereabouts.STOCK.value)
        for row in back.values("id", "club_id", "club__timezone", "came_back_at"):
            came = local_day(row["came_back_at"], row["club__timezone"])
            words = f"No full inspection since it came back on {came}."
            yield _of_item(row["id"], row["club_id"], self.kind, Effect.NO_ISSUE, came, words)


class LookBeforeIssueConcern(Concern):
    """Nobody has looked it over today: the first step of handing it out is to do so."""

    kind = "look_before_issue"
    announces = False

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item in the room not looked over on the day; a warning at the gate."""
        if reach is not Reach.SEASON:
            return
        unseen = items.filter(Q(last_look_at__isnull=True) | Q(last_look_at__lt=start_of(day)))
        for row in unseen.filter(whereabouts=Whereabouts.STOCK.value).values("id", "club_id"):
            words = "Look it over now, before it is handed out."
            yield _of_item(row["id"], row["club_id"], self.kind, Effect.WARN, day, words)


class NoSeasonConcern(Concern):
    """No season was entered: limits can be read for today only."""

    kind = "no_season"

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per club that has items and neither a running nor a coming season."""
        if reach is Reach.NOW:
            return
        clubs = set(items.order_by().values_list("club_id", flat=True).distinct())
        known = Season.objects.filter(club_id__in=clubs, ends_on__gte=day).values_list("club_id", flat=True)
        for club_id in sorted(clubs - set(known)):
            yield Hit(
                kind=self.kind,
                effect=Effect.WARN,
                advice=Advice.CHECK_RECORDS,
                severity=Severity.PLAN,
                club_id=club_id,
                falls_on=day,
                because="No running or coming season is entered, so limits are read for today only. Enter the season.",
            )


class WornStoppedConcern(Concern):
    """A player holds something that must not be worn: take it off, hand out a replacement."""

    kind = "worn_stopped"

    def hits(self, items: ItemQuerySet, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item on a player that is retired, held, or past a stop clock."""
        worn = {item.id: item for item in items.worn_but_stopped(day)}
        if not worn or reach is Reach.SEASON:
            return
        since, reasons = _reasons(worn, day)
        holders = holders_of(worn)
        for item_id, item in worn.items():
            if item.retired_on:
                since[item_id].append(item.retired_on)
                reasons[item_id].append(f"Retired on {item.retired_on}: {item.retired_reason}")
            holder = holders.get(item_id)
            yield Hit(
                kind=self.kind,
                effect=Effect.STOP,
                advice=Advice.REPLACE,
                severity=Severity.STOP,
                club_id=item.club_id,
                item_id=item_id,
                player_id=holder.player_id if holder else None,
                falls_on=min(since[item_id], default=day),
                because=" ".join(["A player has it and must not wear it.", *reasons[item_id], IN_HAND]),
            )


def _reasons(worn: Mapping[UUID, object], day: date) -> tuple[dict[UUID, list[date]], dict[UUID, list[str]]]:
    since: dict[UUID, list[date]] = defaultdict(list)
    reasons: dict[UUID, list[str]] = defaultdict(list)
    for hold in Hold.objects.in_force(day).filter(item_id__in=worn).order_by("starts_on", "reason", "id"):
        since[hold.item_id].append(hold.starts_on)
        reasons[hold.item_id].append(f"Held since {hold.starts_on}: {hold.reason.rstrip('.')}.")
    for clock in stop_clocks(day).filter(item_id__in=worn).order_by("falls_on", "code", "id"):
        since[clock.item_id].append(clock.falls_on)
        reasons[clock.item_id].append(_fallen(clock))
    return since, reasons


def _fallen(clock: Clock) -> str:
    name = clock.code.replace("_", " ")
    return f"The clock {name} has fallen{'' if clock.falls_on == UNKNOWN_DAY else f' on {clock.falls_on}'}."


def _of_item(item_id: UUID, club_id: UUID, kind: str, effect: Effect, falls_on: date, words: str) -> Hit:
    advice = Advice.INSPECT if effect is not Effect.STOP else Advice.RETIRE
    return Hit(
        kind=kind,
        effect=effect,
        advice=advice,
        severity=Severity.ACT,
        club_id=club_id,
        item_id=item_id,
        falls_on=falls_on,
        because=words,
    )


FACTS = (
    HoldConcern(),
    RepairConcern(),
    RetiredConcern(),
    WhereaboutsConcern(),
    SinceBackConcern(),
    LookBeforeIssueConcern(),
    NoSeasonConcern(),
    WornStoppedConcern(),
)
