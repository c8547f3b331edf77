"""Rules: the air of gear is looked after, now or told late; what will not hold stops, and asks for another fit."""

from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import rule

from gearlife.domain.access import Stamp
from gearlife.models import Item
from inspections.domain.air_records import Felt
from inspections.operations.air import NewAirRecord, record_air
from tests.machine.ground import Ground, moment_before
from tests.machine.limits import Held, day_of
from tests.machine.picks import BY, LATE, WHICH


class AirRules(Ground):
    """What is felt of a liner."""

    @rule(which=WHICH, felt=st.sampled_from([*Felt]), late=LATE, by=BY)
    def feel_air(self, which: int, felt: Felt, late: int, by: int) -> None:
        """It is taken whatever has become of the gear; one that will not hold is held from its day on."""
        gear, at = self.gear(which), moment_before(self.at, late)

        def make(id_: UUID, stamp: Stamp) -> object:
            new = NewAirRecord(Item.objects.get(id=gear.id), felt=felt, happened_at=at, id=id_)
            return record_air(new=new, stamp=stamp)

        assert self.create(make, by) is not None
        will_not_hold = felt is Felt.WONT_HOLD
        if will_not_hold:
            gear.redone.append((day_of(at), self.at))
        self.adopt(gear, [Held(day_of(at), self.at)] if will_not_hold else [])
