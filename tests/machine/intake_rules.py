"""Rules: files tell of gear that is new, and of gear that is known; no file lifts a stop."""

from datetime import date, timedelta

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from gearlife.domain.errors import GearlifeError
from gearlife.models import Item
from gearlife.operations.intake import take_in
from tests.machine.gear_rules import FIRM, MOST_ITEMS
from tests.machine.ground import Ground
from tests.machine.limits import Gear, Held, lapsed
from tests.machine.picks import BY, WHICH

HEADINGS = "serial,kind,manufacturer,model,made_on,certified_on,certified_by"


class IntakeRules(Ground):
    """One row a file."""

    @precondition(lambda self: len(self.world.gear) < MOST_ITEMS)
    @rule(months=st.sampled_from([7, 60, None]), is_helmet=st.booleans(), by=BY)
    def take_in_something_new(self, months: int | None, is_helmet: bool, by: int) -> None:
        kind = "helmet" if is_helmet else "shoulder_pads"
        serial = f"M-{len(self.world.gear) + 1}"
        made = None if months is None else (self.day - relativedelta(months=months)).replace(day=1)
        club = self.league.clubs[0].id
        answer = self._take_in(serial, kind, club, by, made_on=f"{made:%Y-%m}" if made else "")
        assert not isinstance(answer, GearlifeError), answer
        id_ = Item.objects.get(serial=serial, organisation=self.league.own).id
        self.world.gear[id_] = Gear(id_, serial, kind, kind, self.world.intervals[kind], club, made, self.day)

    @rule(which=WHICH, ago=st.sampled_from([0, 30, 400]), by=BY, stop_doubtful=st.booleans())
    def take_in_something_known(self, which: int, ago: int, by: int, stop_doubtful: bool) -> None:
        """A firm's certification, as the club's own file tells it."""
        gear, on = self.gear(which), self.day - timedelta(days=ago)
        is_told = gear.retired or (on, FIRM) in gear.certificates
        is_older = not gear.retired and gear.made is not None and on < gear.made
        is_doubtful = not is_told and lapsed(gear, self.world.rules, self.day) and on > _counts_from(gear)
        answer = self._take_in(gear.serial, gear.kind, gear.club, by, certified_on=str(on), stop_doubtful=stop_doubtful)
        assert isinstance(answer, GearlifeError) == (is_older or (is_doubtful and not stop_doubtful)), answer
        if is_told or isinstance(answer, GearlifeError):
            return
        gear.certificates.add((on, FIRM))
        gear.recertified(on)
        self.adopt(gear, [Held(self.day, self.at)] if is_doubtful and on not in gear.doubted else [])
        gear.doubted |= {on} if is_doubtful else set()

    def _take_in(
        self, serial: str, kind: str, club_id: object, by: int, *, stop_doubtful: bool = False, **cells: str
    ) -> object:
        model = self.league.models[kind]
        club = next(club for club in self.league.clubs if club.id == club_id)
        on = cells.get("certified_on", "")
        row = [serial, kind, model.manufacturer.name, model.name, cells.get("made_on", ""), on, FIRM if on else ""]
        data = f"{HEADINGS}\n{','.join(row)}\n".encode()
        return self.act(
            lambda stamp: take_in(
                data, of="items", club=club, filename="gear.csv", stamp=stamp, stop_doubtful=stop_doubtful
            ),
            by,
        )


def _counts_from(gear: Gear) -> date:
    return gear.certified or gear.made or date.min
