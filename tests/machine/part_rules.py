"""Rules: clips are put into gear, approved or not, or none are left: what that stops, and what it does not."""

from typing import ClassVar
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import rule

from gearlife.domain.access import Stamp
from gearlife.models import Item
from inspections.domain.parts import PartSort
from inspections.operations.pad_changes import NewPadChange, record_pad_change
from inspections.operations.part_lists import NewApproved, NewPosition, add_position, approve_part
from tests.factories import stamp
from tests.machine.ground import Ground, League, moment_before
from tests.machine.limits import Held, day_of
from tests.machine.picks import BY, LATE, WHICH

PARTS = st.sampled_from(["Clip", "Clip", "Home-made", ""])


def enter_parts(league: League) -> None:
    """Each model needs a clip, and its maker approves one."""
    for model in league.models.values():
        own = stamp(league.own)
        position = add_position(new=NewPosition(model, "clip", "Clip", PartSort.CLIP), stamp=own)
        approve_part(new=NewApproved(position, "Clip"), stamp=own)


class PartRules(Ground):
    """What is put into gear. No fit hangs on a clip, so that the fits stand as they were."""

    explained: ClassVar[st.SearchStrategy[bool]] = st.sampled_from([True, True, True, False])

    @rule(which=WHICH, part=PARTS, late=LATE, by=BY, explained=explained)
    def put_in(self, which: int, part: str, late: int, by: int, explained: bool) -> None:
        """Refused only where a part is on no list and nobody says why; a phone's own account may do it too."""
        gear, at = self.gear(which), moment_before(self.at, late)
        reason = "None was left." if explained else ""

        def make(id_: UUID, by_whom: Stamp) -> object:
            item = Item.objects.select_related("club", "model").get(id=gear.id)
            new = NewPadChange(item, "clip", part, reason=reason, changed_at=at, id=id_)
            return record_pad_change(new=new, stamp=by_whom)

        id_ = self.create(make, by)
        assert (id_ is None) == (part == "Home-made" and not explained)
        if id_:
            self.adopt(gear, [] if part == "Clip" else [Held(day_of(at), self.at)])
