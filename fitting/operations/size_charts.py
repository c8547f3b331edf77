"""Size charts: a new revision beside the old ones, which never change."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from fitting.domain.charts import ChartFault, ChartRow, chart_faults, read_chart, stored
from fitting.models import SizeChart
from gearlife.domain.access import Stamp
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.models import GearModel
from gearlife.operations.ledger import Entry, record
from gearlife.operations.unique import insert_unique


@dataclass(frozen=True)
class NewChart:
    """The chart of a model, whole: as rows, or as the text of a table; where the maker says it, and for whom."""

    model: GearModel
    rows: Sequence[ChartRow] = ()
    csv: str = ""
    stated_in: str = ""
    positions: Sequence[str] = ()
    id: UUID | None = None


@transaction.atomic
def add_chart(*, new: NewChart, stamp: Stamp) -> SizeChart:
    """Add the next revision of a model's chart; InvalidInputError with every fault, each with its row."""
    rows = _rows(new)
    newest = SizeChart.objects.filter(model=new.model).order_by("-revision").values_list("revision", flat=True).first()
    chart = SizeChart(
        organisation_id=stamp.actor.organisation_id,
        model=new.model,
        revision=(newest or 0) + 1,
        rows=[stored(row) for row in rows],
        positions=list(new.positions),
        stated_in=new.stated_in,
        created_at=stamp.at,
        created_by_id=stamp.actor.user_id,
    )
    chart.id = new.id or chart.id
    insert_unique(chart, "Somebody added a chart at the same moment; read it first.", "revision_taken")
    told = {"size_chart": chart.id, "model": new.model.id, "revision": chart.revision}
    record(chart.organisation_id, [Entry("size_chart_revised", facts=told)], stamp)
    return chart


def _rows(new: NewChart) -> Sequence[ChartRow]:
    typed, faults = read_chart(new.csv) if new.csv else (list(new.rows), [])
    if faults := faults or chart_faults(typed, Kind(new.model.kind)):
        raise InvalidInputError("The chart cannot be taken as it is.", faults=[_fault(each, new) for each in faults])
    return typed


def _fault(fault: ChartFault, new: NewChart) -> Fault:
    """Where it is: a row of the table, or a member of the body."""
    words = f"Heading: {fault.words}." if fault.row < 0 else f"Row {fault.row + 1}: {fault.words}."
    if new.csv:
        return Fault(words, "/csv")
    weight = new.rows and fault.row < len(new.rows) and new.rows[fault.row].unit == "kg"
    member = f"{fault.member}_{'kg' if weight else 'mm'}" if fault.member in {"from", "to"} else fault.member
    return Fault(words, f"/rows/{fault.row}/{member}" if new.rows else "/rows")
