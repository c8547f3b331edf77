"""Concerns about recorded facts: holds, retirement, whereabouts, and what came back and was not looked over since."""

from collections.abc import Iterator
from datetime import date, timedelta

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day, start_of
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.recorded import ClockRecord, HoldRecord, ItemRecord, Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity, Standing, Whereabouts
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

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per hold; holds of one item become one hit."""
        for item_id, holds in about.holds.items():
            item = about.items[item_id]
            horizon = self.horizon(about, item, day, reach)
            for hold in holds:
                if hold.deferred == self.deferred and hold.starts_on <= horizon:
                    yield self.hit(item, hold, day)

    def horizon(self, about: Recorded, item: ItemRecord, day: date, reach: Reach) -> date:
        """The last day on which a hold may begin to be within reach."""
        match reach:
            case Reach.SEASON:
                return about.season_ends_on(item.club_id, day) or day
            case Reach.LEAD if self.deferred:
                return day + REPAIR_LEAD
        return day

    def hit(self, item: ItemRecord, hold: HoldRecord, day: date) -> Hit:
        """What one hold says."""
        return Hit(
            kind=self.kind,
            effect=Effect.STOP,
            advice=Advice(hold.advice),
            severity=Severity.ACT if hold.starts_on <= day else Severity.PLAN,
            club_id=item.club_id,
            item_id=item.id,
            falls_on=hold.starts_on,
            because=self.words(hold, day),
        )

    def words(self, hold: HoldRecord, day: date) -> str:
        """Why it is held, or from when it will be."""
        reference = f" ({hold.reference})" if hold.reference else ""
        return f"Held {'since' if hold.starts_on <= day else 'from'} {hold.starts_on}{reference}: {hold.reason}"


class RepairConcern(HoldConcern):
    """A repair that was put to a day: announced before it, a stop from it on."""

    kind = "repair"
    deferred = True

    def words(self, hold: HoldRecord, day: date) -> str:
        """What is to be repaired, and by when."""
        verb = "was to be dealt with by" if hold.starts_on <= day else "is to be dealt with by"
        return f"A repair {verb} {hold.starts_on}: {hold.reason}"


class RetiredConcern(Concern):
    """Retired: it never goes out again."""

    kind = "retired"
    announces = False

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per retired item."""
        for item in about.items.values():
            if item.retired_on:
                words = f"Retired on {item.retired_on}: {item.retired_reason}"
                yield _of_item(item, self.kind, Effect.STOP, item.retired_on, words)


class WhereaboutsConcern(Concern):
    """Not in the room: it cannot be handed out from where it is."""

    kind = "not_in_stock"
    announces = False

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item that is elsewhere; asked by the gate alone."""
        for item in about.items.values() if reach is Reach.SEASON else ():
            if item.whereabouts is not Whereabouts.STOCK:
                yield _of_item(item, self.kind, Effect.NO_ISSUE, day, PLACES[item.whereabouts])


class SinceBackConcern(Concern):
    """Came back, was found or was reconditioned, and has had no full inspection since."""

    kind = "not_inspected_since_back"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item whose last full inspection is older than its return; but for the gate, in the room alone."""
        for item in about.items.values():
            asked = reach is Reach.SEASON or item.whereabouts is Whereabouts.STOCK
            if not asked or item.retired_on or not item.came_back_at:
                continue
            if item.last_full_inspection_at is None or item.last_full_inspection_at < item.came_back_at:
                came = local_day(item.came_back_at, item.timezone)
                words = f"No full inspection since it came back on {came}."
                yield _of_item(item, self.kind, Effect.NO_ISSUE, came, words)


class LookBeforeIssueConcern(Concern):
    """Nobody has looked it over today: the first step of handing it out is to do so."""

    kind = "look_before_issue"
    announces = False

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item in the room not looked over on the day; a warning at the gate."""
        began = start_of(day)
        for item in about.items.values() if reach is Reach.SEASON else ():
            seen = item.last_look_at is not None and item.last_look_at >= began
            if item.whereabouts is Whereabouts.STOCK and not seen:
                yield _of_item(item, self.kind, Effect.WARN, day, "Look it over now, before it is handed out.")


class NoSeasonConcern(Concern):
    """No season was entered: limits can be read for today only."""

    kind = "no_season"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per club that has items and neither a running nor a coming season."""
        if reach is Reach.NOW:
            return
        for club_id in sorted({item.club_id for item in about.items.values()}):
            if about.season_ends_on(club_id, day) is None:
                yield Hit(
                    kind=self.kind,
                    effect=Effect.WARN,
                    advice=Advice.CHECK_RECORDS,
                    severity=Severity.PLAN,
                    club_id=club_id,
                    falls_on=day,
                    because="No running or coming season is entered, so limits are read for today only. "
                    "Enter the season.",
                )


class WornStoppedConcern(Concern):
    """A player holds something that must not be worn: take it off, hand out a replacement."""

    kind = "worn_stopped"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item on a player that is retired, held, or past a stop clock."""
        if reach is Reach.SEASON:
            return
        on_players = [item for item in about.items.values() if item.whereabouts is Whereabouts.PLAYER]
        stopped = [item for item in on_players if about.standing(item, day) is not Standing.NO_STOP]
        holders = holders_of([item.id for item in stopped]) if stopped else {}
        for item in stopped:
            since, reasons = _why_stopped(about, item, day)
            holder = holders.get(item.id)
            yield Hit(
                kind=self.kind,
                effect=Effect.STOP,
                advice=Advice.REPLACE,
                severity=Severity.STOP,
                club_id=item.club_id,
                item_id=item.id,
                player_id=holder.player_id if holder else None,
                falls_on=min(since, default=day),
                because=" ".join(["A player has it and must not wear it.", *reasons, IN_HAND]),
            )


def _why_stopped(about: Recorded, item: ItemRecord, day: date) -> tuple[list[date], list[str]]:
    holds, clocks = about.held(item, day), about.stops(item, day)
    since = [hold.starts_on for hold in holds] + [clock.falls_on for clock in clocks]
    reasons = [f"Held since {hold.starts_on}: {hold.reason.rstrip('.')}." for hold in holds]
    reasons += [_fallen(clock) for clock in clocks]
    if item.retired_on:
        since.append(item.retired_on)
        reasons.append(f"Retired on {item.retired_on}: {item.retired_reason}")
    return since, reasons


def _fallen(clock: ClockRecord) -> str:
    name = clock.code.replace("_", " ")
    return f"The clock {name} has fallen{'' if clock.falls_on == UNKNOWN_DAY else f' on {clock.falls_on}'}."


def _of_item(item: ItemRecord, kind: str, effect: Effect, falls_on: date, words: str) -> Hit:
    return Hit(
        kind=kind,
        effect=effect,
        advice=Advice.INSPECT if effect is not Effect.STOP else Advice.RETIRE,
        severity=Severity.ACT,
        club_id=item.club_id,
        item_id=item.id,
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
