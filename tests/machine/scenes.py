"""How an example begins: each item with a past, so that a few steps suffice to meet what is rare."""

from collections.abc import Callable

from hypothesis import strategies as st
from hypothesis.stateful import initialize

from gearlife.domain.vocabulary import CertificationKind, Evidence
from tests.machine.check_rules import CheckRules
from tests.machine.damage_rules import DamageRules
from tests.machine.gear_rules import FIRM, GearRules
from tests.machine.ground import moment_before
from tests.machine.hold_rules import HoldRules
from tests.machine.picks import AGE
from tests.machine.wearing_rules import WearingRules

SCENES = (
    *("in_room", "in_room", "worn", "worn_with_repair", "back", "back_on_an_earlier_day", "cracked", "crack_in_doubt"),
    *("retired_while_held", "retired_by_mistake", "recertified", "passed_on"),
)


class Scenes(DamageRules, CheckRules, GearRules, HoldRules, WearingRules):
    """Three items of the first club and what has happened to each."""

    @initialize(
        ages=st.lists(AGE, min_size=3, max_size=3),
        kinds=st.tuples(*[st.booleans()] * 3),
        scenes=st.lists(st.sampled_from(SCENES), min_size=3, max_size=3),
    )
    def begin(self, ages: list[int | None], kinds: tuple[bool, ...], scenes: list[str]) -> None:
        acts: dict[str, Callable[[int], None]] = {
            "worn": self._worn,
            "worn_with_repair": self._worn_with_repair,
            "back": self._back,
            "back_on_an_earlier_day": self._back_on_an_earlier_day,
            "cracked": self._cracked,
            "crack_in_doubt": self._crack_in_doubt,
            "retired_while_held": self._retired_while_held,
            "retired_by_mistake": self._retired_by_mistake,
            "recertified": self._recertified,
            "passed_on": self._passed_on,
        }
        for number, (age, is_helmet, scene) in enumerate(zip(ages, kinds, scenes, strict=True)):
            self.register_one(age, 0, is_helmet=is_helmet, for_one=False)
            if scene in acts:
                acts[scene](number)

    def _worn(self, number: int) -> None:
        self.already_worn(which=number, who=number, loan=False, late=3, by=0, with_id=True)

    def _worn_with_repair(self, number: int) -> None:
        """A repair that is told only when its day has passed."""
        self._worn(number)
        self.inspect(which=number, depth="look", found="repair", late=20, is_whole=True, by=0)

    def _back(self, number: int) -> None:
        self._worn(number)
        self.inspect(which=number, depth="full", found="", late=0, is_whole=True, by=0)
        self._give_back(number, late=0)

    def _give_back(self, number: int, *, late: int) -> None:
        out = [worn.gear for worn in self.world.worn if worn.until is None]
        self.give_back(which=out.index(self.gear(number)), late=late, missing="", by=0)

    def _back_on_an_earlier_day(self, number: int) -> None:
        """It is back; that it has been out again and come back before that is told late."""
        self._back(number)
        self.already_worn(which=number, who=number, loan=True, late=1, by=0, with_id=True)
        self._give_back(number, late=1)

    def _passed_on(self, number: int) -> None:
        """Nobody has it, then one, then another; it is looked for, and that somebody did not find it is told late."""
        gear = self.gear(number)
        self._note(gear, self.at, 0)
        for who, late in ((number, 20), (number + 1, 3)):
            self.already_worn(which=number, who=who, loan=False, late=late, by=0, with_id=True)
        for days in (10, 0):
            self._note(gear, moment_before(self.at, days), 0)

    def _cracked(self, number: int) -> None:
        self.inspect(which=number, depth="look", found="crack", late=0, is_whole=True, by=0)

    def _crack_in_doubt(self, number: int) -> None:
        """One person says twice that it is none: that is not two people."""
        self._cracked(number)
        gear = self.gear(number)
        for _ in range(2):
            self._release(gear, gear.holds[-1], "not_a_crack", 0, with_photo=True)

    def _retired_while_held(self, number: int) -> None:
        """A device tries to lift the hold first."""
        self.hold(which=number, ahead=0, by=0, is_incident=False)
        gear = self.gear(number)
        self._release(gear, gear.holds[-1], "dealt_with", 0, with_photo=False, as_device=True)
        self.retire(which=number, ago=0, by=0)

    def _retired_by_mistake(self, number: int) -> None:
        self._retired_while_held(number)
        gear = self.gear(number)
        for by in range(2):
            self._correct(gear, gear, by, with_photo=True)

    def _recertified(self, number: int) -> None:
        """Twice, and the earlier one is told last."""
        kind, evidence = CertificationKind.RECERTIFICATION, Evidence.LABEL
        for ago in (1, 30):
            self.certify(which=number, kind=kind, ago=ago, firm=FIRM, evidence=evidence)
