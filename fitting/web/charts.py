"""Size charts of models, typed from the makers' booklets, and the sizes that they give a player."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any, ClassVar

from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.charts import COLUMNS, HEAVIEST_KG, KG_PER_LB, restored
from fitting.domain.lengths import show_length
from fitting.domain.roles import MEASURERS
from fitting.models import SizeChart
from fitting.operations.size_charts import NewChart, add_chart
from fitting.queries.sizes import models_in_stock, sizes_for, without_numbers
from fitting.web.players import PlayerPage
from gearlife.domain.access import WRITERS
from gearlife.domain.errors import GearlifeError, InvalidInputError
from gearlife.domain.vocabulary import Role, Units
from gearlife.models import GearModel
from gearlife.web.pages import Page, status_of
from gearlife.web.typed import Typed

LONGEST_CSV = 20_000
MOST_SHOWN = 20
HEADING = ",".join(COLUMNS) + "\n"


class Charts(Page):
    """`/charts/`: every model, and whether its chart has been entered."""

    template = "fitting/charts.html"
    title = gettext_lazy("Size charts")

    def context(self) -> dict[str, Any]:
        """Models by kind and name; those without a chart say so."""
        has = Exists(SizeChart.objects.filter(model=OuterRef("pk")))
        models = GearModel.objects.visible_to(self.actor).select_related("manufacturer").annotate(has_chart=has)
        return {"models": models.order_by("kind", "name", "id"), "may_act": self.actor.may_be(*WRITERS)}


class Chart(Page):
    """`/charts/MODEL/`: the newest chart, and the form of the next revision."""

    template = "fitting/chart.html"
    title = gettext_lazy("Size chart")

    @cached_property
    def model(self) -> GearModel:
        """The model of the address."""
        found: GearModel = self.found(GearModel.objects.select_related("manufacturer"), self.kwargs["model"])
        return found

    def context(self) -> dict[str, Any]:
        """The chart's rows in the reader's units, and the earlier revisions."""
        charts = list(SizeChart.objects.filter(model=self.model).order_by("-revision")[:MOST_SHOWN])
        units = Units(getattr(self.request.user, "units", Units.INCHES))
        return {
            "model": self.model,
            "chart": charts[0] if charts else None,
            "rows": [_row(row, units) for row in charts[0].rows] if charts else [],
            "earlier": charts[1:],
            "csv": self.typed.get("csv", HEADING),
            "may_act": self.actor.may_be(*WRITERS),
        }

    def act(self) -> str:
        """Add the typed chart as the next revision, once."""
        stamp = self.permit(None)
        form = Typed(self.typed.dict())
        stated_in = form.text("stated_in", _("Where the maker says it"), most=120)
        positions = form.text("positions", _("Positions"), most=200)
        text = form.text("csv", _("The chart"), most=LONGEST_CSV, needed=True)
        form.done()
        named = [each.strip()[:24] for each in positions.split(",") if each.strip()]
        new = NewChart(self.model, csv=text, stated_in=stated_in, positions=named)
        self.once("size-charts", stamp, lambda id_: add_chart(new=replace(new, id=id_), stamp=stamp))
        self.told(_("The chart is kept. Sizes are reckoned with it from now on."))
        return reverse("fitting:chart", args=[self.model.id])


class PlayerSizes(PlayerPage):
    """`/players/ID/sizes/`: the sizes that the charts of what is in the room give; nothing measured is shown."""

    template = "fitting/sizes.html"
    title = gettext_lazy("Sizes")
    change: ClassVar[frozenset[Role]] = MEASURERS
    weight_kg: float | None = None

    def context(self) -> dict[str, Any]:
        """For each model in words which size to try."""
        day = self.stamp(self.player.club).day
        rows = sizes_for(self.player, models_in_stock(self.player.club_id), day=day, weight_kg=self.weight_kg)
        may_see = self.actor.administers or self.player.club_id in self.actor.club_ids
        asks_weight = any("weight" in note for row in rows for note in row["notes"]) or self.weight_kg is not None
        shown: Sequence[Mapping[str, Any]] = rows if may_see else without_numbers(rows)
        return super().context() | {"rows": shown, "asks_weight": asks_weight and may_see}

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Show the same with the weight that was typed, which is not kept and stands in no address."""
        try:
            self.permit(self.player.club)
            self.weight_kg = self._weight()
        except GearlifeError as refused:
            return self.show(status=status_of(refused), refusal=refused, typed=self.typed)
        return self.show(typed=self.typed)

    def _weight(self) -> float:
        try:
            weight = float(self.text("weight").replace(",", "."))
        except ValueError:
            weight = 0.0
        if self.text("unit") == "lb":
            weight *= KG_PER_LB
        if not 1 <= weight <= HEAVIEST_KG:
            raise InvalidInputError.at("/weight", _("Type the weight as a number, in the unit that is chosen."))
        return weight


def _row(kept: Mapping[str, Any], units: Units) -> dict[str, str]:
    """One row in words."""
    row = restored(kept)
    ends = [_end(kept[f"{name}_{row.unit}"], row.unit, units) for name in ("from", "to")]
    return {"size": row.size, "measure": row.measure.value, "low": ends[0], "high": ends[1]}


def _end(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return ""
    return f"{value:g} kg" if unit == "kg" else show_length(value, units)
