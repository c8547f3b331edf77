"""A club whose gear and players can be planned: a model with its chart, helmets in the room, players measured."""

from datetime import date
from typing import Any
from uuid import UUID

from fitting.domain.vocabulary import MeasurementKind
from fitting.models import AllocationPlan, Measurement, PlanLine, Player, SetAside, SizeChart
from fitting.operations.plans import NewPlan, apply_plan, make_plan
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models import Club, GearModel, Item, Team
from tests.factories import AT, DAY, ItemFactory, ModelFactory, PlayerFactory, stamp

SIZES = (("S", 520, 550), ("M", 550, 580), ("L", 580, 610))
HEADS = {"S": 535, "M": 565, "L": 595}


class ToPlan:
    """A club with one charted model of helmets."""

    def __init__(self, club: Club, team: Team | None = None) -> None:
        self.club, self.team = club, team
        self.model = charted(club)

    def helmet(self, size: str = "M", **facts: Any) -> Item:
        """One in the room, with nothing recorded against it."""
        return ItemFactory.create(**{"club": self.club, "model": self.model, "size": size, **facts})

    def player(self, size: str | None = "M", **facts: Any) -> Player:
        """A player whose head is surely of this size; None: not measured."""
        player = PlayerFactory.create(**{"club": self.club, "team": self.team, **facts})
        if size:
            measure(player, HEADS[size])
        return player

    def plan(self, by: Stamp | None = None, **facts: Any) -> AllocationPlan:
        """A plan of helmets for the team where there is one, else for the club."""
        place = {"team": self.team} if self.team else {"club": self.club}
        new = NewPlan(**{**place, "kind": Kind.HELMET, **facts})
        return make_plan(new=new, stamp=by or stamp(self.club.organisation))


def charted(club: Club, name: str = "Lantern", sizes: Any = SIZES, **facts: Any) -> GearModel:
    """A model of helmets with a chart."""
    model = ModelFactory.create(manufacturer__organisation=club.organisation, name=name, liner=Liner.AIR, **facts)
    chart(model, sizes)
    return model


def chart(model: GearModel, sizes: Any = SIZES, measure: str = "head_circumference", revision: int = 1) -> SizeChart:
    """A revision of a model's chart."""
    rows = [{"size": size, "measure": measure, "from_mm": start, "to_mm": end} for size, start, end in sizes]
    facts = {"organisation_id": model.organisation_id, "revision": revision, "created_at": AT}
    return SizeChart.objects.create(model=model, rows=rows, **facts)


def measure(player: Player, head_mm: float, on: date = DAY, kind: str = "head_circumference") -> Measurement:
    """Two readings that agree."""
    return Measurement.objects.create(
        organisation_id=player.organisation_id,
        player=player,
        kind=MeasurementKind(kind).value,
        readings_mm=[head_mm - 0.5, head_mm + 0.5],
        taken_on=on,
        recorded_at=AT,
    )


def line_of(plan: AllocationPlan, player: Player) -> PlanLine:
    """What the plan says of a player, as the database has it."""
    return PlanLine.objects.get(plan=plan, player=player)


def items_of(plan: AllocationPlan) -> dict[UUID, UUID | None]:
    """Who gets what."""
    return dict(PlanLine.objects.filter(plan=plan, item__isnull=False).values_list("player_id", "item_id"))


def applied(plan: AllocationPlan, now: Stamp) -> AllocationPlan:
    """The plan after it was applied, as the database has it."""
    apply_plan(plan=plan, stamp=now)
    plan.refresh_from_db()
    return plan


def kept(plan: AllocationPlan) -> dict[Any, Any]:
    """What is set aside now, by player."""
    return dict(SetAside.objects.open().filter(plan=plan).values_list("player_id", "item_id"))
