"""Rules: gear is fitted on players, well or not; of pads none goes out without an accepted fit that is still fresh."""

from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import rule

from fitting.domain.fits import Try, every_check_passes
from fitting.operations.fits import NewFit, record_fit
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind
from tests.machine.ground import Ground, moment_before
from tests.machine.model import Fitted
from tests.machine.picks import BY, LATE, WHICH, WHO


class FitRules(Ground):
    """What the gate is told of pairs; the rules of issuing ask it."""

    @rule(which=WHICH, who=WHO, passes=st.sampled_from([True, True, False]), late=LATE, by=BY)
    def fit(self, which: int, who: int, passes: bool, late: int, by: int) -> None:
        """Kept however it ended; refused only where item and player are of two clubs."""
        gear, player = self.gear(which), self.player(who)
        at = moment_before(self.at, late)
        results = every_check_passes(Kind(gear.kind))
        tried = Try(results if passes else dict.fromkeys(results, False))

        def make(id_: UUID, stamp: Stamp) -> object:
            return record_fit(new=NewFit(gear.id, player, [tried], fitted_at=at, id=id_), stamp=stamp)

        id_ = self.create(make, by)
        assert (id_ is not None) == (player.club_id == gear.club)
        if id_:
            self.world.fits.append(Fitted(gear, player.id, at, passes))
