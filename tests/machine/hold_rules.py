"""Rules: gear is held, by hand and by a maker's notice, and released: by whom, on what ground, by how many."""

from datetime import timedelta
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from gearlife.domain.access import Stamp
from gearlife.domain.affected import Search
from gearlife.domain.errors import GearlifeError
from gearlife.domain.vocabulary import HoldCause, ReleaseBasis
from gearlife.models import Hold
from gearlife.operations import holding_many, holds
from tests.machine.ground import Ground
from tests.machine.limits import Gear, Held, day_of
from tests.machine.picks import AHEAD, BY, FITTING, WHICH

GROUNDS = {basis.value: basis for basis in ReleaseBasis}


class HoldRules(Ground):
    """What stops an item by an act, and what ends that."""

    @rule(which=WHICH, ahead=AHEAD, by=BY, is_incident=st.booleans())
    def hold(self, which: int, ahead: int, by: int, is_incident: bool) -> None:
        gear = self.gear(which)
        named = self.league.people[by].user_id if is_incident else None
        starts_on = self.day + timedelta(days=ahead)

        def make(id_: UUID, stamp: Stamp) -> object:
            cause = HoldCause.INCIDENT if is_incident else HoldCause.OFFICER
            new = holds.NewHold(gear.id, "A blow.", cause, starts_on, named_person_id=named, id=id_)
            return holds.hold(new=new, stamp=stamp)

        assert self.create(make, by), "a hold was refused"
        self.adopt(gear, [Held(starts_on, self.at, "named_person" if named else "officer", named=named)])

    @rule(which=WHICH, by=BY)
    def hold_without_id(self, which: int, by: int) -> None:
        """The same open hold asked for again is the one there is."""
        gear = self.gear(which)
        reason = f"Noticed on {self.day}."
        new = holds.NewHold(gear.id, reason)
        said = any(hold.notice == reason and hold.ended in ("", "retired") for hold in gear.holds)
        self.act(lambda stamp: holds.hold(new=new, stamp=stamp), by)
        self.adopt(gear, [] if said else [Held(self.day, self.at, notice=reason)])

    @rule(which=st.sets(WHICH, min_size=1, max_size=2), notice=st.sampled_from(["R-1", "R-2"]), by=BY)
    def hold_many(self, which: set[int], notice: str, by: int) -> None:
        """A maker's notice names serials."""
        named = {gear.id: gear for gear in map(self.gear, which)}
        serials = [gear.serial for gear in named.values()]
        maker = self.league.models["helmet"].manufacturer
        asked = holding_many.Notice(Search(serials=serials), "Recalled.", notice, maker, serials=serials)
        answer = self.act(lambda stamp: holding_many.hold_many(notice=asked, stamp=stamp), by)
        assert not isinstance(answer, GearlifeError), answer
        for gear in named.values():
            known = any(hold.notice == notice for hold in gear.holds)
            self.adopt(gear, [] if known else [Held(self.day, self.at, notice=notice)])

    @precondition(lambda self: any(gear.holds for gear in self.world.gear.values()))
    @rule(
        number=FITTING,
        ground=st.sampled_from(["", "", "", "", "dealt_with", "not_a_crack", "reconditioner_accepted"]),
        with_photo=st.sampled_from([True, True, True, False]),
        by=BY,
        how=st.sampled_from(["once", "alone", "both", "device"]),
    )
    def release(self, number: int, ground: str, with_photo: bool, by: int, how: str) -> None:
        """On the ground that fits, or on another; once, twice by one person, by two, or by a device."""
        every = [(gear, hold) for gear in self.world.gear.values() for hold in gear.holds]
        # Those that are open before those that have been ended.
        every.sort(key=lambda pair: bool(pair[1].ended))
        gear, hold = every[number % len(every)]
        ground = ground or ("not_a_crack" if hold.ends_by == "crack_rule" else "dealt_with")
        self._release(gear, hold, ground, by, with_photo=with_photo, as_device=how == "device")
        if how in ("alone", "both"):
            self._release(gear, hold, ground, by + (how == "both"), with_photo=with_photo)

    def _release(
        self, gear: Gear, hold: Held, ground: str, by: int, *, with_photo: bool, as_device: bool = False
    ) -> None:
        picture = self.league.photo if with_photo else None
        answer = self.act(
            lambda stamp: holds.release(
                hold=Hold.objects.get(id=hold.id),
                reason="Looked at.",
                basis=GROUNDS[ground],
                photo=picture,
                stamp=stamp,
            ),
            by,
            as_device=as_device,
        )
        who = self.league.people[by % 2].user_id
        if as_device:
            assert isinstance(answer, GearlifeError), "a device released"
            return
        if hold.ended:
            assert not isinstance(answer, GearlifeError), answer
            return
        allowed = self._may_release(gear, hold, ground, who, with_photo=with_photo)
        assert isinstance(answer, GearlifeError) != allowed, (answer, hold)
        if allowed and ground == "not_a_crack" and hold.proposed_by in (None, who):
            hold.proposed_by = who
        elif allowed:
            hold.ended = ground

    def _may_release(self, gear: Gear, hold: Held, ground: str, who: UUID | None, *, with_photo: bool) -> bool:
        """Whether this person may end it, or propose its end, on this ground."""
        if hold.ends_by != "crack_rule":
            seen = gear.inspected is not None and gear.inspected > hold.opened_at
            ends = {"officer": True, "named_person": who == hold.named, "full_inspection": seen}
            return ground == "dealt_with" and ends[hold.ends_by]
        if ground == "not_a_crack":
            return hold.proposed_by is not None or with_photo
        shown = (on > day_of(hold.opened_at) and at >= hold.opened_at for on, at in gear.accepted)
        return ground == "reconditioner_accepted" and any(shown)
