"""Rules: gear is registered, taken in from a file, dated, certified, lost, found and retired."""

from datetime import date, timedelta
from uuid import UUID

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from gearlife.domain.access import Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import CertificationKind, Evidence
from gearlife.models import Item, RetirementCorrection
from gearlife.operations import certifications, items, retirement_corrections
from gearlife.operations.retirement_corrections import Correction
from tests.machine.ground import Ground
from tests.machine.limits import Gear, Held
from tests.machine.picks import AGE, BY, FITTING, LATE, WHICH

MOST_ITEMS = 6
FIRM = "Mendwell"
SHOWN_BY_FIRM = (Evidence.LABEL, Evidence.RECONDITIONERS_FILE)


class GearRules(Ground):
    """What happens to an item itself."""

    @precondition(lambda self: len(self.world.gear) < MOST_ITEMS)
    @rule(age=AGE, club=st.sampled_from([0, 0, 1]), is_helmet=st.booleans(), for_one=st.booleans())
    def register(self, age: int | None, club: int, is_helmet: bool, for_one: bool) -> None:
        self.register_one(age, club, is_helmet=is_helmet, for_one=for_one)

    def register_one(self, age: int | None, club: int, *, is_helmet: bool, for_one: bool) -> None:
        """One item more."""
        kind = "helmet" if is_helmet else "shoulder_pads"
        made = None if age is None else self.day - relativedelta(months=age)
        serial = f"M-{len(self.world.gear) + 1}"

        def make(id_: UUID, stamp: Stamp) -> object:
            new = items.NewItem(
                club=self.league.clubs[club],
                model=self.league.models[kind],
                serial=serial,
                made_on=_partial(made),
                made_on_evidence=Evidence.LABEL,
                made_for_one_player=for_one,
                id=id_,
            )
            return items.register(new=new, stamp=stamp)

        id_ = self.create(make)
        assert id_, "a new item was refused"
        interval = self.world.intervals[kind]
        club_id = self.league.clubs[club].id
        self.world.gear[id_] = Gear(id_, serial, kind, kind, interval, club_id, made, self.day, for_one)

    @rule(which=WHICH, age=AGE, by=BY)
    def date_it(self, which: int, age: int | None, by: int) -> None:
        """Its label shows another date of manufacture, or proves to be none."""
        gear = self.gear(which)
        made = None if age is None else self.day - relativedelta(months=age)
        changes = {"made_on": _partial(made), "made_on_evidence": Evidence.LABEL}
        answer = self.act(lambda stamp: items.change(item=_row(gear), changes=changes, stamp=stamp), by)
        assert not isinstance(answer, GearlifeError), answer
        gear.made = made

    @rule(
        which=WHICH,
        kind=st.sampled_from(CertificationKind),
        ago=st.sampled_from([-1, 0, 1, 30, 400, 800]),
        firm=st.sampled_from(["", FIRM]),
        evidence=st.sampled_from([Evidence.LABEL, Evidence.CLUBS_FILE, Evidence.RECONDITIONERS_FILE]),
    )
    def certify(self, which: int, kind: CertificationKind, ago: int, firm: str, evidence: Evidence) -> None:
        gear = self.gear(which)
        on = self.day - timedelta(days=ago)

        def make(id_: UUID, stamp: Stamp) -> object:
            new = certifications.NewCertification(kind, certified_on=on, firm=firm, evidence=evidence, id=id_)
            return certifications.certify(item=_row(gear), new=new, stamp=stamp)

        refused = self.create(make) is None
        assert refused == (on > self.day or bool(gear.made and on < gear.made))
        if not refused:
            gear.certificates.add((on, firm))
            gear.redone += [(on, self.at)] if kind is not CertificationKind.ORIGINAL else []
            if kind is CertificationKind.RECERTIFICATION:
                gear.recertified(on)
                gear.accepted += [(on, self.at)] if firm and evidence in SHOWN_BY_FIRM else []
            elif kind is CertificationKind.RECONDITIONING:
                gear.was_away(on)

    @rule(which=WHICH, by=BY)
    def mark_missing(self, which: int, by: int) -> None:
        gear = self.gear(which)
        answer = self.act(lambda stamp: items.mark_missing(item=_row(gear), stamp=stamp), by)
        assert not isinstance(answer, GearlifeError), answer
        if worn := self.world.out(gear):
            worn.until, worn.unseen = max(self.at, worn.since), True
        gear.place = "missing"

    @rule(which=FITTING, by=BY)
    def find(self, which: int, by: int) -> None:
        every = sorted(self.world.gear.values(), key=lambda gear: gear.place != "missing")
        gear = every[which % len(every)]
        answer = self.act(lambda stamp: items.found(item=_row(gear), stamp=stamp), by)
        assert isinstance(answer, GearlifeError) == (gear.place not in ("missing", "stock"))
        if gear.place == "missing":
            gear.place, gear.back = "stock", self.at

    @rule(which=WHICH, ago=LATE, by=BY)
    def retire(self, which: int, ago: int, by: int) -> None:
        gear = self.gear(which)
        on = self.day - timedelta(days=ago)
        answer = self.act(lambda stamp: items.retire(item=_row(gear), reason="Worn out.", on=on, stamp=stamp), by)
        assert not isinstance(answer, GearlifeError), answer
        if not gear.retired:
            gear.retired = True
            for hold in gear.open_holds():
                hold.ended = "" if hold.ends_by == "named_person" else "retired"

    @precondition(lambda self: any(gear.retired for gear in self.world.gear.values()))
    @rule(which=FITTING, meant=WHICH, with_photo=st.sampled_from([True, True, False]), by=BY, twice=st.booleans())
    def correct_retirement(self, which: int, meant: int, with_photo: bool, by: int, twice: bool) -> None:
        """One person proposes, another completes; where both do at once, one after the other."""
        every = sorted(self.world.gear.values(), key=lambda gear: not gear.retired)
        gear, right = every[which % len(every)], self.gear(meant)
        self._correct(gear, right, by, with_photo=with_photo)
        if twice:
            self._correct(gear, right, by + 1, with_photo=with_photo)

    def _correct(self, gear: Gear, right: Gear, by: int, *, with_photo: bool) -> None:
        picture = self.league.photo if with_photo else None
        new = Correction("Mistyped.", picture, _row(right) if right is not gear else None)
        waiting = RetirementCorrection.objects.filter(item_id=gear.id, agreed_at__isnull=True).first()
        answer = self.act(
            lambda stamp: retirement_corrections.correct_retirement(item=_row(gear), new=new, stamp=stamp), by
        )
        if isinstance(answer, GearlifeError):
            known = RetirementCorrection.objects.filter(item_id=gear.id).exists()
            another = waiting and right is not gear and waiting.right_item_id != right.id
            assert another or (not gear.retired and not known) or (gear.retired and not waiting and not with_photo)
        elif gear.retired and waiting is None:
            if right is not gear and not right.retired:
                self.adopt(right, [Held(self.day, self.at)])
        elif gear.retired and waiting and waiting.proposed_by_id != self.league.people[by % 2].user_id:
            self._retired_no_longer(gear)

    def _retired_no_longer(self, gear: Gear) -> None:
        """Retired no longer, held as it was, and held until a full inspection."""
        gear.retired = False
        gear.came_back(self.at)
        for hold in gear.holds:
            if hold.ended == "retired":
                hold.ended, hold.proposed_by = "", None
        self.adopt(gear, [Held(self.day, self.at, ends_by="full_inspection")])


def _row(gear: Gear) -> Item:
    return Item.objects.get(id=gear.id)


def _partial(day: date | None) -> PartialDate | None:
    return PartialDate(day.year, day.month, day.day) if day else None
