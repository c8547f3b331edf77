"""Rules: damage is reported, now and days late, twice and by two people; reports are confirmed and dismissed."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from gearlife.domain.access import Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.models import Item
from inspections.domain.vocabulary import LooksLike
from inspections.models import DamageReport
from inspections.operations.damage_reports import NewReport, report_damage
from inspections.operations.damage_reviews import confirm_report, dismiss_report
from tests.machine.ground import Ground, moment_before
from tests.machine.limits import Gear, Held, day_of
from tests.machine.picks import BY, FITTING, LATE, WHICH


@dataclass
class Reported:
    """A report as it should be, with the hold that it opened."""

    id: UUID
    gear: Gear
    by: UUID | None
    seen_at: datetime
    received_at: datetime
    held: Held | None
    state: str = "new"


class DamageRules(Ground):
    """What somebody saw broken."""

    def __init__(self) -> None:
        super().__init__()
        self.reports: list[Reported] = []

    @rule(which=WHICH, looks=st.sampled_from(["minor", "unsure", "dangerous"]), late=LATE, by=BY)
    def report_damage(self, which: int, looks: str, late: int, by: int) -> None:
        """Kept always; stopped from the day on which it was seen, unless it looked minor."""
        gear, seen_at = self.gear(which), moment_before(self.at, late)

        def make(id_: UUID, stamp: Stamp) -> object:
            item = Item.objects.select_related("club").get(id=gear.id)
            new = NewReport(item.club, "A dent.", item=item, severity=LooksLike(looks), seen_at=seen_at, id=id_)
            return report_damage(new=new, stamp=stamp)

        id_ = self.create(make, by)
        assert id_, "a report of damage was refused"
        held = None if looks == "minor" else Held(day_of(seen_at), self.at, "full_inspection")
        self.adopt(gear, [held] if held else [])
        self.reports.append(Reported(id_, gear, self.league.people[by % 2].user_id, seen_at, self.at, held))

    @precondition(lambda self: self.reports)
    @rule(number=FITTING, by=BY)
    def confirm_damage(self, number: int, by: int) -> None:
        """Never refused; the item is held, also where a dismissal had ended that."""
        report = self.reports[-1 - number % len(self.reports)]
        answer = self.act(lambda stamp: confirm_report(report=self._row(report), stamp=stamp), by)
        assert not isinstance(answer, GearlifeError), answer
        if report.state != "confirmed" and report.held is None:
            report.held = Held(day_of(report.seen_at), self.at, "full_inspection")
            self.adopt(report.gear, [report.held])
        elif report.state == "dismissed" and report.held and report.held.ended != "retired":
            report.held.ended = "retired" if report.gear.retired else ""
        report.state = "confirmed"

    @precondition(lambda self: self.reports)
    @rule(number=FITTING, by=BY, as_device=st.sampled_from([False, False, False, True]))
    def dismiss_damage(self, number: int, by: int, as_device: bool) -> None:
        """By another person, or after a whole look; it ends the report's own hold, and nothing that was confirmed."""
        report = self.reports[-1 - number % len(self.reports)]
        answer = self.act(
            lambda stamp: dismiss_report(report=self._row(report), reason="A sticker.", stamp=stamp),
            by,
            as_device=as_device,
        )
        other = report.by != self.league.people[by % 2].user_id
        looked = report.gear.looked is not None and report.gear.looked > report.received_at
        allowed = report.state == "dismissed" or (report.state == "new" and (other or looked))
        assert isinstance(answer, GearlifeError) == (as_device or not allowed), (answer, report)
        if isinstance(answer, GearlifeError) or report.state == "dismissed":
            return
        report.state = "dismissed"
        if report.held and not report.held.ended:
            report.held.ended = "dealt_with"

    def _row(self, report: Reported) -> DamageReport:
        found: DamageReport = DamageReport.objects.get(id=report.id)
        return found
