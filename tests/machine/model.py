"""What the records must say after every act, in plain Python: nothing here asks the program or its database."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package

from tests.machine.limits import Gear, Held, Rule, day_of, fallen, fallen_by

# Of these kinds the model foretells every alert that asks for a hand today, and every stop.
FORETOLD = frozenset(
    {
        *("hold", "repair", "worn_stopped", "worn_not_issuable", "missing_stopped", "not_inspected_since_back"),
        *("made_on_unknown", "certification", "age_limit", "full_inspection"),
    }
)
# By a rule of the machine's organisation pads go out with a fresh accepted fit alone; of helmets it is only warned.
BARRED_UNFITTED, FIT_LASTS_MONTHS = "shoulder_pads", 12
KIND_OF_LIMIT = {"made_on": "made_on_unknown", "club_age_limit": "age_limit"}


@dataclass
class Worn:
    """A player has, or had, an item. `marked`: it could not have been issued. `unseen`: nobody saw it come back."""

    id: UUID
    gear: Gear
    player: UUID
    loan: bool
    since: datetime
    issued: bool
    until: datetime | None = None
    marked: bool = False
    lasting: bool = False
    unseen: bool = False

    @property
    def told(self) -> tuple[UUID, UUID, bool, str, datetime, datetime | None]:
        """As the row of the assignment says it."""
        return (
            self.gear.id,
            self.player,
            self.loan,
            "issued" if self.issued else "already_worn",
            self.since,
            self.until,
        )


@dataclass
class Fitted:
    """An item was fitted on a player, and every check passed, or not."""

    gear: Gear
    player: UUID
    at: datetime
    accepted: bool


@dataclass
class World:
    """One organisation: its gear, who has what, its rules of effect `stop` and `no_issue`, its clubs' seasons."""

    gear: dict[UUID, Gear] = field(default_factory=dict)
    worn: list[Worn] = field(default_factory=list)
    fits: list[Fitted] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    club_of: dict[UUID, UUID] = field(default_factory=dict)
    seasons: dict[UUID, dict[int, tuple[date, date]]] = field(default_factory=dict)
    intervals: dict[str, int] = field(default_factory=lambda: {"helmet": 24, "shoulder_pads": 12})

    def out(self, gear: Gear) -> Worn | None:
        """Who has it."""
        return next((worn for worn in self.worn if worn.gear is gear and worn.until is None), None)

    def has(self, player: UUID, kind: str, *, loan: bool) -> Worn | None:
        """What a player has of a kind."""
        theirs = (worn for worn in self.worn if worn.player == player and worn.until is None)
        return next((worn for worn in theirs if worn.gear.kind == kind and worn.loan == loan), None)

    def last_game(self, club: UUID, day: date) -> date | None:
        """Of the season that runs or comes next."""
        return min((ends for _, ends in self.seasons.get(club, {}).values() if ends >= day), default=None)

    def stopped(self, gear: Gear, day: date) -> bool:
        """Whether it must not be worn: retired, held, or past a limit."""
        return gear.retired or gear.held(day) or "stop" in fallen(gear, self.rules, day).values()

    def against(self, gear: Gear, day: date) -> set[str]:
        """What the item itself says against its issue up to the season's last game, wherever it is."""
        last = self.last_game(gear.club, day) or day
        reasons = set()
        if gear.retired:
            return {"retired"}
        if gear.held(last):
            reasons.add("hold")
        if self.wants_inspection(gear):
            reasons.add("not_inspected_since_back")
        return reasons | fallen_by(gear, self.rules, day, last)

    def wants_inspection(self, gear: Gear) -> bool:
        """Whether it came back and was not looked over in full since."""
        return gear.back is not None and (gear.inspected is None or gear.inspected < gear.back)

    def is_anothers(self, gear: Gear, player: UUID) -> bool:
        """Whether it was made for one player, and another has had it."""
        return gear.for_one and any(worn.gear is gear and worn.player != player for worn in self.worn)

    def is_lasting(self, gear: Gear, player: UUID) -> bool:
        """Whether item and player do not go together, whatever else is put right."""
        return self.club_of[player] != gear.club or self.is_anothers(gear, player)

    def may_issue(self, gear: Gear, player: UUID, day: date, *, loan: bool, instead: Worn | None) -> bool:
        """Whether nothing at all speaks against handing it out; `instead` comes back in the same act."""
        has = self.has(player, gear.kind, loan=loan)
        free = has is None or has is instead
        in_room = gear.place == "stock" and self.out(gear) is None
        goes = in_room and free and not self.against(gear, day) and not self.is_lasting(gear, player)
        return goes and (gear.kind != BARRED_UNFITTED or self.is_fitted(gear, player, day))

    def is_fitted(self, gear: Gear, player: UUID, day: date) -> bool:
        """Whether the last fit of the pair was accepted and nothing has come since that asks for another."""
        own = [fit for fit in self.fits if fit.gear is gear and fit.player == player]
        last = max(own, key=lambda fit: fit.at, default=None)
        if last is None or not last.accepted or day >= day_of(last.at) + relativedelta(months=FIT_LASTS_MONTHS):
            return False
        on_others = [fit.at for fit in self.fits if fit.gear is gear and fit.player != player]
        with_others = [worn.since for worn in self.worn if worn.gear is gear and worn.player != player]
        redone = any(on >= day_of(last.at) and noted > last.at for on, noted in gear.redone)
        return not redone and not any(at > last.at for at in (*on_others, *with_others))

    def worn_though_not_issuable(self, gear: Gear, day: date) -> bool:
        """Recorded as worn past the gate, and something still speaks against it."""
        worn = self.out(gear)
        return bool(worn and worn.marked and (worn.lasting or self.against(gear, day)))

    def may_be_worn_unseen(self, gear: Gear, day: date) -> bool:
        """Missing, not to be worn, and last with a player whom nobody saw give it back."""
        if gear.place != "missing" or not self.stopped(gear, day):
            return False
        ended = [worn for worn in self.worn if worn.gear is gear and worn.until is not None]
        return bool(ended) and max(ended, key=lambda worn: worn.until or worn.since).unseen

    def must_come_off(self, day: date) -> set[tuple[UUID, UUID]]:
        """Items with their players: worn now, and not to be."""
        out = [worn for worn in self.worn if worn.until is None]
        return {
            (worn.gear.id, worn.player)
            for worn in out
            if self.stopped(worn.gear, day) or self.worn_though_not_issuable(worn.gear, day)
        }

    def foretold(self, gear: Gear, day: date) -> set[tuple[str, str]]:
        """Kind and severity of the open alerts of FORETOLD that are due about one item."""
        found: set[tuple[str, str]] = set(self._of_holds(gear.open_holds(), day))
        if not gear.retired:
            found |= {(KIND_OF_LIMIT.get(code, code), "act") for code in fallen(gear, self.rules, day)}
            if gear.place == "stock" and self.wants_inspection(gear):
                found.add(("not_inspected_since_back", "act"))
        if gear.place == "player" and self.stopped(gear, day):
            found.add(("worn_stopped", "stop"))
        if self.worn_though_not_issuable(gear, day):
            found.add(("worn_not_issuable", "stop"))
        if self.may_be_worn_unseen(gear, day):
            found.add(("missing_stopped", "stop"))
        return found

    def _of_holds(self, holds: Iterable[Held], day: date) -> Iterable[tuple[str, str]]:
        for hold in holds:
            if hold.starts_on <= day:
                yield ("repair" if hold.deferred else "hold", "act")
