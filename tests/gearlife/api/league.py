"""Two organisations with one row of everything and one person of every role, and callers that ask for them."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db.models import Model
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from rest_framework.parsers import MultiPartParser

from fitting.domain.counted_gear import CountedKind
from fitting.domain.vocabulary import LineState, MeasurementKind, PlanOutcome, PlanState
from fitting.models import AllocationPlan, Loaner, MeasurementRead, PlanLine, RetentionRule, SetAside
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.operations.measurements import NewMeasurement, record_measurement
from fitting.operations.receipts import NewReceipt, make_receipt
from fitting.operations.size_charts import NewChart, add_chart
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import CertificationKind, Kind, Role
from gearlife.models import Alert, Certification, FileInHand, Intake, Membership, PolicyRule, Season, User
from gearlife.operations.certifications import NewCertification, certify
from gearlife.operations.holds import NewHold, hold
from gearlife.queries.access import actor_of_user
from inspections.domain.air_records import Felt
from inspections.domain.vocabulary import Depth, LooksLike
from inspections.models import Checklist, Inspection, PartStock
from inspections.operations.air import NewAirRecord, record_air, state_air
from inspections.operations.damage_reports import NewReport, report_damage
from inspections.operations.not_seen import NewNotSeen, note_not_seen
from inspections.operations.part_lists import decide_on_unapproved
from tests.factories import (
    AT,
    DAY,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    TeamFactory,
    fitted,
    measured,
    person,
    photo,
    put_on,
    stamp,
    token,
)
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.surface import Operation
from tests.inspections.parts import guard, list_parts, put_in, shelve

# As the role matrix writes them: the organisation's own, then a phone's account with an officer's role.
LETTERS = {
    "A": Role.ADMINISTRATOR,
    "U": Role.AUDITOR,
    "O": Role.OFFICER,
    "C": Role.COACH,
    "D": Role.DAMAGE_REPORTER,
}
DEVICE = "V"


class League:
    """One organisation: a club with a team, an item that is held and worn, and whatever hangs on them."""

    def __init__(self) -> None:
        self.club = ClubFactory.create()
        self.organisation = self.club.organisation
        self.team = TeamFactory.create(club=self.club)
        self.users = {letter: self._user(role) for letter, role in LETTERS.items()}
        self.users[DEVICE] = person(Role.OFFICER, at=self.club, is_device=True)
        self.item = ItemFactory.create(club=self.club, team=self.team)
        self.player = PlayerFactory.create(club=self.club, team=self.team)
        self.assignment = put_on(self.item, self.player)
        now = stamp(self.organisation)
        self.measurement = measured(self.player)
        self.hold, _ = hold(new=NewHold(item_id=self.item.id, reason="shell: crack"), stamp=now)
        certify(item=self.item, new=NewCertification(kind=CertificationKind.ORIGINAL, certified_on=DAY), stamp=now)
        self.photo = photo(self.club)
        self.callers = {letter: Caller(token(user)) for letter, user in self.users.items()}
        self.rows = self._rows()
        self.file_in_hand = self._file_in_hand()

    def of(self, model: type[Model]) -> Any:
        """The row of a table."""
        return next(row for row in (*self.rows.values(), self.hold, self.measurement) if isinstance(row, model))

    def _user(self, role: Role) -> User:
        whole = role in {Role.ADMINISTRATOR, Role.AUDITOR}
        place = self.organisation if whole else self.team if role is Role.COACH else self.club
        return person(role, at=place)

    def _rows(self) -> dict[str, Model]:
        """A row for each resource; a resource without one fails the tests that go over all operations."""
        checklist = Checklist.objects.filter(organisation=self.organisation).order_by("id")[0]
        return {
            "organisations": self.organisation,
            "clubs": self.club,
            "teams": self.team,
            "seasons": Season.objects.get(club=self.club),
            "memberships": Membership.objects.get(user=self.users["O"]),
            "manufacturers": self.item.manufacturer,
            "models": self.item.model,
            "items": self.item,
            "certifications": Certification.objects.get(item=self.item),
            "policy-rules": PolicyRule.objects.filter(organisation=self.organisation).order_by("id")[0],
            "alerts": Alert.objects.filter(item=self.item).order_by("id")[0],
            "photos": self.photo,
            "intakes": self._intake(),
            "players": self.player,
            "assignments": self.assignment,
            "fits": fitted(self.item, self.player, by=self.users["O"]),
            "loaners": Loaner.objects.create(
                organisation=self.organisation,
                item=self.item,
                kind=self.item.kind,
                bands=[{"measure": "head_circumference", "from_mm": 540, "to_mm": 560}],
                prepared_at=AT,
            ),
            "measurements": record_measurement(
                new=NewMeasurement(self.player, MeasurementKind.HEAD_CIRCUMFERENCE, [561, 562]), stamp=self._officers()
            ),
            "size-charts": add_chart(
                new=NewChart(self.item.model, csv="size,measure,from,to,unit\nM,head,54,58,cm"), stamp=self._officers()
            ),
            **self._counted(),
            "receipts": make_receipt(new=NewReceipt(self.player), stamp=self._officers()),
            **self._plan(),
            "retention-rules": RetentionRule.objects.filter(organisation=self.organisation).order_by("of")[0],
            "checklists": checklist,
            "inspections": self._inspection(checklist),
            "air-records": record_air(new=NewAirRecord(self.item, felt=Felt.FIRM), stamp=self._officers()),
            "model-air": state_air(model=self.item.model, facts={}, stamp=self._officers()),
            **self._parts(),
            "damage-reports": report_damage(
                new=NewReport(self.club, "worn paint", item=self.item, severity=LooksLike.MINOR),
                stamp=stamp(self.organisation),
            ),
            "not-seen": note_not_seen(new=NewNotSeen(self.item), stamp=stamp(self.organisation)),
        }

    def _officers(self) -> Stamp:
        return stamp(actor_of_user(self.users["O"]))

    def _counted(self) -> dict[str, Model]:
        """Two jerseys, of which one came back."""
        jerseys = NewCounted(self.player, CountedKind.JERSEY, count=2)
        [line] = hand_out_counted(new=[jerseys], stamp=self._officers())
        [back] = take_back_counted(new=[NewReturn(line, count=1)], stamp=self._officers())
        return {"counted-gear": line, "counted-returns": back}

    def _parts(self) -> dict[str, Model]:
        """The booklet of the item's model, a guard, a count, and a pad that was put in and is on no list."""
        now = stamp(self.organisation)
        position = list_parts(self.item.model)["crown"]
        return {
            "pad-positions": position,
            "approved-parts": position.approved_parts.order_by("id")[0],
            "faceguards": guard(self.club),
            "stock-entries": shelve(self.club, "Crown 20", 4),
            "part-stock": PartStock.objects.get(club=self.club),
            "part-policies": decide_on_unapproved(hold_unapproved=True, reason="as it was", stamp=now),
            "pad-changes": put_in(self.item, "crown", "Home-made", now, reason="nothing else was there"),
        }

    def _plan(self) -> dict[str, Model]:
        """A plan that gives the player the item, and has set it aside."""
        of_plan: dict[str, Any] = {"organisation": self.organisation, "kind": Kind.HELMET.value}
        plan = AllocationPlan.objects.create(
            club=self.club,
            team=self.team,
            state=PlanState.APPLIED.value,
            asked_on=DAY,
            asked_at=AT,
            made_at=AT,
            **of_plan,
        )
        of_plan |= {"plan": plan, "player": self.player, "item": self.item}
        line = PlanLine.objects.create(outcome=PlanOutcome.PLANNED.value, state=LineState.SET_ASIDE.value, **of_plan)
        return {
            "allocation-plans": plan,
            "plan-lines": line,
            "set-asides": SetAside.objects.create(made_at=AT, **of_plan),
        }

    def _file_in_hand(self) -> FileInHand:
        """The administrator's, which has been taken in."""
        facts = {"of": "items", "sha256": "0" * 64, "outline": "0" * 64, "intake_id": self.rows["intakes"].pk}
        return FileInHand.objects.create(
            organisation=self.organisation, club=self.club, received_at=AT, received_by=self.users["A"], **facts
        )

    def _intake(self) -> Intake:
        facts = {"of": "items", "sha256": "0" * 64, "rows": 1, "added": 1, "changed": 0, "unchanged": 0}
        return Intake.objects.create(organisation=self.organisation, club=self.club, received_at=AT, **facts)

    def _inspection(self, checklist: Checklist) -> Inspection:
        return Inspection.objects.create(
            organisation=self.organisation,
            item=self.item,
            checklist=checklist,
            depth=Depth.LOOK.value,
            inspected_at=AT,
            recorded_at=AT,
        )


def call(caller: Caller, operation: Operation, id_: UUID | str = "", body: Mapping[str, Any] | None = None) -> Any:
    """Ask for an operation, with whatever headers it needs."""
    headers = {"If_Match": "*"} if operation.method in {"PATCH", "DELETE"} else {}
    sent: Any = {} if operation.method in {"POST", "PUT", "PATCH"} and body is None else body
    if MultiPartParser in operation.view.parser_classes and operation.method in {"POST", "PUT"}:
        sent, headers["Content_Type"] = encode_multipart(BOUNDARY, dict(sent)), MULTIPART_CONTENT
    return caller(operation.method, operation.address(id_), sent, **headers)


def everything_written() -> dict[str, int]:
    """How many rows each table has, but for the one that is written by reading."""
    return {
        model._meta.label: model._default_manager.count() for model in apps.get_models() if model is not MeasurementRead
    }


def columns_of(row: Model) -> dict[str, Any]:
    """A row as the database has it now."""
    return type(row)._default_manager.filter(pk=row.pk).values().get()
