"""Rules: a check does not find an item; that is noted, and nothing else comes of it."""

from datetime import datetime
from uuid import UUID

from hypothesis.stateful import rule

from gearlife.domain.access import Stamp
from gearlife.models import Item
from inspections.models import NotSeen
from inspections.operations.not_seen import NewNotSeen, note_not_seen
from tests.machine.ground import Ground, moment_before
from tests.machine.limits import Gear
from tests.machine.model import Worn
from tests.machine.picks import BY, FITTING, LATE, WHICH

# A note, its place in the ledger, and that its id was used.
OF_A_NOTE = {"inspections_notseen", "gearlife_ledgerhead", "gearlife_creation"}


class CheckRules(Ground):
    """What was looked for and was not there."""

    @rule(which=FITTING, late=LATE, when=WHICH, by=BY)
    def not_seen(self, which: int, late: int, when: int, by: int) -> None:
        """Of whoever had it then, else of whoever has it; refused where nobody does."""
        every = sorted(self.world.gear.values(), key=lambda gear: self.world.out(gear) is None)
        gear = every[which % len(every)]
        # Some days ago, or as one of those began who have had it.
        moments = [moment_before(self.at, late), *(worn.since for worn in self.world.worn if worn.gear is gear)]
        at = moments[when % len(moments)]
        self._note(gear, at, by)

    def _note(self, gear: Gear, at: datetime, by: int) -> None:
        had = {worn.player for worn in self.world.worn if worn.gear is gear and _covers(worn, at)}
        out = self.world.out(gear)
        whose = had or ({out.player} if out else set())
        before = self.records

        def make(id_: UUID, stamp: Stamp) -> object:
            return note_not_seen(new=NewNotSeen(Item.objects.get(id=gear.id), at, id=id_), stamp=stamp)

        id_ = self.create(make, by)
        assert (id_ is not None) == bool(whose)
        if id_:
            assert NotSeen.objects.get(id=id_).player_id in whose
            assert {table for table in before if before[table] != self.records[table]} == OF_A_NOTE


def _covers(worn: Worn, at: datetime) -> bool:
    return worn.since <= at and (worn.until is None or at < worn.until)
