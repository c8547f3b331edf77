"""Rules: gear goes out and comes back, is found on players, and is looked over, at once or told late."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, record_already_worn, record_worn, return_item
from gearlife.domain.access import Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.models import Item
from inspections.domain.findings import NewFinding
from inspections.operations.inspect import NewInspection, record_inspection
from tests.machine.ground import Ground, moment_before
from tests.machine.limits import Gear, Held, day_of
from tests.machine.model import Worn
from tests.machine.picks import BY, FITTING, LATE, WHICH, WHO

REPAIR_WAITS_DAYS = 7


@dataclass(frozen=True)
class Seen:
    """What is found of each kind of gear, and how the hold ends that it opens; none where that is empty."""

    helmet: NewFinding
    pads: NewFinding
    ends_by_of_helmet: str
    ends_by_of_pads: str
    deferred: bool = False

    def opens(self, gear: Gear, at: datetime, recorded_at: datetime) -> list[Held]:
        """The hold that should be there after it."""
        ends_by = self.ends_by_of_helmet if gear.kind == "helmet" else self.ends_by_of_pads
        starts_on = day_of(at) + timedelta(days=REPAIR_WAITS_DAYS if self.deferred else 0)
        return [Held(starts_on, recorded_at, ends_by, self.deferred)] if ends_by else []


FINDINGS = {
    "crack": Seen(NewFinding("shell", "crack"), NewFinding("arch", "crack"), "crack_rule", "officer"),
    # Too mild a grade is raised, and a crack is not put right on the spot.
    "mild": Seen(
        NewFinding("shell", "crack", "wear", fixed_here=True),
        NewFinding("rivets", "missing", "wear"),
        "crack_rule",
        "officer",
    ),
    "repair": Seen(NewFinding("liner", "torn"), NewFinding("padding", "torn"), "officer", "officer", deferred=True),
    "fixed": Seen(
        NewFinding("chin_strap", "under_four_points", fixed_here=True),
        NewFinding("straps_belts", "missing", fixed_here=True),
        "",
        "",
    ),
}

# A part of each kind of gear that it may be worn without, and one that it may not.
MISSING = {
    "helmet": {"harmless": "bag", "stopping": "jaw_pad"},
    "shoulder_pads": {"harmless": "back_plate", "stopping": "padding"},
}


class WearingRules(Ground):
    """Who has what, and what was seen of it."""

    @rule(which=FITTING, loan=st.sampled_from([False, False, True]), replaces=st.booleans(), by=BY)
    def issue(self, which: int, loan: bool, replaces: bool, by: int) -> None:
        """Refused exactly when something speaks against it."""
        gear, player = self._pair(which, loan=loan)
        instead = self.world.has(player.id, gear.kind, loan=loan) if replaces else None

        def make(id_: UUID, stamp: Stamp) -> object:
            replaced = instead.id if instead else None
            new = NewAssignment(gear.id, player, loan, replaces_id=replaced, id=id_)
            return issue(new=new, stamp=stamp)

        may = self.world.may_issue(gear, player.id, self.day, loan=loan, instead=instead)
        id_ = self.create(make, by)
        assert (id_ is not None) == may, (self.world.against(gear, self.day), gear)
        if id_ and instead:
            self._came_back(instead, self.at, "stock")
        if id_:
            self.world.worn.append(Worn(id_, gear, player.id, loan, self.at, issued=True))
            gear.place = "player"

    def _pair(self, number: int, *, loan: bool) -> tuple[Gear, Player]:
        """An item and a player, those before the others that nothing speaks against."""
        pairs = [(gear, player) for gear in self.world.gear.values() for player in self.league.players]
        pairs.sort(key=lambda pair: not self.world.may_issue(pair[0], pair[1].id, self.day, loan=loan, instead=None))
        return pairs[number % len(pairs)]

    @precondition(lambda self: any(worn.until is None for worn in self.world.worn))
    @rule(which=WHICH, late=LATE, missing=st.sampled_from(["", "harmless", "stopping"]), by=BY)
    def give_back(self, which: int, late: int, missing: str, by: int) -> None:
        """Whole, or without a part; without one that nobody may wear it without, it is held in the same act."""
        out = [worn for worn in self.world.worn if worn.until is None]
        worn = out[which % len(out)]
        row, at = Assignment.objects.get(id=worn.id), moment_before(self.at, late)
        parts = [MISSING[worn.gear.kind][missing]] if missing else []
        answer = self.act(
            lambda stamp: return_item(assignment=row, at=at, condition="", missing_parts=parts, stamp=stamp), by
        )
        assert isinstance(answer, GearlifeError) == (at < worn.since)
        if not isinstance(answer, GearlifeError):
            self._came_back(worn, at, "stock")
            self.adopt(worn.gear, [Held(self.day, self.at)] if missing == "stopping" else [])

    def _came_back(self, worn: Worn, at: datetime, place: str, *, unseen: bool = False) -> None:
        worn.until, worn.unseen = at, unseen
        worn.gear.place = place
        worn.gear.came_back(at)

    @rule(which=WHICH, who=WHO, loan=st.sampled_from([False, False, True]), late=LATE, by=BY, with_id=st.booleans())
    def already_worn(self, which: int, who: int, loan: bool, late: int, by: int, with_id: bool) -> None:
        """Found on a player: never refused, but where that very fact is recorded under another id."""
        gear, player = self.gear(which), self.player(who)
        at = moment_before(self.at, late)
        out = self.world.out(gear)
        is_known = out is not None and (out.player, out.loan) == (player.id, loan)
        id_ = self._record_worn(gear, player, loan, at, by, with_id=with_id)
        assert (id_ is None) == (is_known and with_id)
        if id_ and not is_known:
            self._found_on(Worn(id_, gear, player.id, loan, at, issued=False))

    def _record_worn(
        self, gear: Gear, player: Player, loan: bool, at: datetime, by: int, *, with_id: bool
    ) -> UUID | None:
        if with_id:
            return self.create(
                lambda id_, stamp: record_worn(
                    new=NewAssignment(gear.id, player, loan, issued_at=at, id=id_), stamp=stamp
                ),
                by,
            )
        new = NewAssignment(gear.id, player, loan, issued_at=at)
        answer = self.act(lambda stamp: record_already_worn([new], stamp), by)
        assert isinstance(answer, list), answer
        return answer[0].id if isinstance(answer[0], Assignment) else None

    def _found_on(self, new: Worn) -> None:
        """What was thought of the item and of the player until then ends; what is known as newer stands."""
        gear, out = new.gear, self.world.out(new.gear)
        has = self.world.has(new.player, gear.kind, loan=new.loan)
        newer = [rival.since for rival in (out, has) if rival and rival.since > new.since]
        if newer:
            new.until = min(newer)
            self.world.worn.append(new)
            return
        if out:
            out.until = new.since
        if has and has is not out:
            self._came_back(has, new.since, "missing", unseen=True)
        if gear.place != "stock":
            gear.came_back(new.since)
        new.lasting = self.world.is_lasting(gear, new.player)
        new.marked = new.lasting or bool(self.world.against(gear, self.day))
        self.world.worn.append(new)
        gear.place = "player"

    @rule(
        which=WHICH,
        depth=st.sampled_from(["look", "full", "full"]),
        found=st.sampled_from(["", "", "", *FINDINGS]),
        late=LATE,
        is_whole=st.sampled_from([True, True, True, False]),
        by=BY,
    )
    def inspect(self, which: int, depth: str, found: str, late: int, is_whole: bool, by: int) -> None:
        """Looked over now, or some days ago and told only now."""
        gear = self.gear(which)
        self._inspect(gear, depth, FINDINGS.get(found), moment_before(self.at, late), by, is_whole=is_whole)

    @precondition(lambda self: any(gear.inspected for gear in self.world.gear.values()))
    @rule(which=WHICH, found=st.sampled_from(list(FINDINGS)), by=BY)
    def tell_late(self, which: int, found: str, by: int) -> None:
        """What was seen before it last passed a full inspection arrives after that: it counts no less."""
        inspected = [gear for gear in self.world.gear.values() if gear.inspected]
        gear = inspected[which % len(inspected)]
        at = moment_before(gear.inspected or self.at, 1)
        self._inspect(gear, "look", FINDINGS[found], at, by, is_whole=True)

    def _inspect(self, gear: Gear, depth: str, seen: Seen | None, at: datetime, by: int, *, is_whole: bool) -> None:
        finding = (seen.helmet if gear.kind == "helmet" else seen.pads) if seen else None
        point = "liner" if gear.kind == "helmet" else "padding"

        def make(id_: UUID, stamp: Stamp) -> object:
            new = NewInspection(
                Item.objects.get(id=gear.id),
                depth,
                inspected_at=at,
                findings=[finding] if finding else [],
                not_looked_at=[] if is_whole else [point],
                id=id_,
            )
            return record_inspection(new=new, stamp=stamp)

        assert self.create(make, by), "what was seen was refused"
        self.adopt(gear, seen.opens(gear, at, self.at) if seen else [])
        if is_whole:
            gear.looked = max(gear.looked or at, at)
        if is_whole and depth == "full":
            gear.inspected = max(gear.inspected or at, at)
