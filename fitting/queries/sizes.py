"""Sizes of a player by the charts of models, each by itself; what is measured of the player goes in and not out."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from math import isfinite
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from fitting.domain.charts import ranges_of
from fitting.domain.loaners import Band
from fitting.domain.measuring import Agreement, Measured, error_of, measured
from fitting.domain.sizing import Candidate, Estimate, Likelihood, Sizing, to_try
from fitting.domain.styles import ASK_FOR_WEIGHT, of_style
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Measurement, Player, SizeChart
from fitting.queries.measuring_error import ClubErrors, club_errors
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import GearModel, Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled

Row = dict[str, Any]
Estimates = dict[MeasurementKind, Estimate]
# Measured every season: what is older says less than it did.
FRESH = timedelta(days=365)


def estimates_of(player_ids: Iterable[UUID]) -> dict[UUID, Estimates]:
    """The newest measurement of each kind with its standard error, by player."""
    found: dict[UUID, Estimates] = defaultdict(dict)
    newest = _newest(list(player_ids))
    errors = club_errors(row["player__club"] for row in newest)
    for row in newest:
        found[row["player"]][MeasurementKind(row["kind"])] = _estimate(row, errors[row["player__club"]])
    return found


def sizings(model_ids: Iterable[UUID]) -> dict[UUID, Sizing]:
    """The newest chart of each model that has one, made ready."""
    charts = SizeChart.objects.newest().filter(model_id__in=list(model_ids)).values_list("model_id", "rows")
    return {model_id: Sizing(*ranges_of(rows)) for model_id, rows in charts}


def sizes_for(player: Player, models: Sequence[GearModel], *, day: date, weight_kg: float | None = None) -> list[Row]:
    """For each model the sizes that its chart gives this player, in words and numbers, in a fixed number of queries."""
    newest = _newest([player.id])
    errors = club_errors([player.club_id])[player.club_id]
    measures = {MeasurementKind(row["kind"]): _estimate(row, errors) for row in newest}
    chart_of = {
        chart.model_id: chart
        for chart in SizeChart.objects.newest().filter(model_id__in=[model.id for model in models])
    }
    asked = _Asked(player, measures, newest, day, weight_kg)
    return [_answer(model, chart_of.get(model.id), asked) for model in models]


class _Asked:
    """One player, what is known of the body, and the day."""

    def __init__(
        self, player: Player, measures: Estimates, newest: Sequence[Row], day: date, weight_kg: float | None
    ) -> None:
        self.player = player
        self.measures = measures
        self.weight_kg = weight_kg
        self.once = {MeasurementKind(row["kind"]) for row in newest if _measured(row).agreement is Agreement.ONE}
        self.unsettled = {MeasurementKind(row["kind"]) for row in newest if not _measured(row).settled}
        self.old = {MeasurementKind(row["kind"]) for row in newest if day - row["taken_on"] > FRESH}


def _answer(model: GearModel, chart: SizeChart | None, asked: _Asked) -> Row:
    base = {
        "player": asked.player.id,
        "model": model.id,
        "model_name": model.name,
        "kind": model.kind,
        "chart": chart.id if chart else None,
        "revision": chart.revision if chart else None,
    }
    if chart is None:
        return base | {"sizes": [], "says": "No chart of this model has been entered yet.", "notes": []}
    sizing = Sizing(*ranges_of(chart.rows))
    if missing := sorted(sizing.kinds - asked.measures.keys()):
        words = " and ".join(kind.replace("_", " ") for kind in missing)
        return base | {"sizes": [], "says": f"Not measured yet: {words}.", "notes": []}
    candidates = sizing.of(asked.measures, asked.weight_kg)
    notes = [
        *_of_measuring(sizing, asked),
        *_of_weight(sizing, asked),
        *of_style(chart.positions, asked.player.position),
    ]
    return base | {
        "sizes": [_size(each) for each in candidates],
        "says": says(candidates, sizing.beyond(asked.measures)),
        "notes": notes,
    }


def says(candidates: Sequence[Candidate], beyond: str) -> str:
    """One sentence for people: which size, which two, or that the player is outside the chart."""
    tried = to_try(candidates)
    likely = [each.size for each in tried if each.likelihood is Likelihood.LIKELY]
    if len(tried) == 1 and likely:
        return f"Size {likely[0]}: likely."
    if len(tried) > 1:
        return f"Between {' and '.join(each.size for each in tried)}: try {'both' if len(tried) == 2 else 'each'}."  # noqa: PLR2004
    if tried:
        edge = f", and may be {beyond} than the chart" if beyond else ""
        return f"Size {tried[0].size} is near{edge}: try it."
    if beyond:
        return f"Outside this chart: {beyond} than its sizes."
    return "No size of this chart goes with all the measures."


def _of_measuring(sizing: Sizing, asked: _Asked) -> Iterable[str]:
    if sizing.kinds & asked.once:
        yield "One reading: try both sizes beside it too."
    if sizing.kinds & asked.unsettled:
        yield "The readings disagree: measure again."
    if sizing.kinds & asked.old:
        yield "Measured more than a year ago: measure again."


def _of_weight(sizing: Sizing, asked: _Asked) -> Iterable[str]:
    if sizing.weighs and asked.weight_kg is None:
        yield ASK_FOR_WEIGHT


def _size(candidate: Candidate) -> Row:
    return {
        "size": candidate.size,
        "probability": round(candidate.probability, 4),
        "likelihood": candidate.likelihood.value,
    }


def _newest(player_ids: Sequence[UUID]) -> list[Row]:
    """The newest measurement of each player and kind."""
    newest: dict[tuple[UUID, str], Row] = {}
    for row in _in_order().rows(players=player_ids):
        newest[row["player"], row["kind"]] = row
    return list(newest.values())


@compiled
def _in_order() -> QuerySet[Any, Row]:
    taken = Measurement.objects.filter(player_id__in=given.ids("players")).order_by("taken_on", "recorded_at", "id")
    return taken.values("player", "player__club", "kind", "readings_mm", "measured_by", "taken_on")


def _measured(row: Mapping[str, Any]) -> Measured:
    return measured(row["readings_mm"], MeasurementKind(row["kind"]))


def _estimate(row: Row, errors: ClubErrors) -> Estimate:
    """The mean and its error; where readings disagree, no less than half of what lies between them."""
    kind, value = MeasurementKind(row["kind"]), _measured(row)
    error = error_of(kind, errors.of(kind, row["measured_by"]), len(value.used))
    spread = 0.0 if value.settled else (max(value.used) - min(value.used)) / 2
    return Estimate(value.value_mm, max(error, spread))


def without_numbers(rows: Iterable[Row]) -> list[Row]:
    """The same for whoever may not see what was measured: only the sizes to try, without their probabilities."""
    return [
        row
        | {
            "sizes": [
                each | {"probability": None} for each in row["sizes"] if each["likelihood"] != Likelihood.UNLIKELY
            ],
            "notes": [],
        }
        for row in rows
    ]


def models_in_stock(club_id: UUID) -> list[GearModel]:
    """The models of which a club has something in the room, by kind and name; one query."""
    there = Item.objects.filter(club_id=club_id, whereabouts=Whereabouts.STOCK.value)
    rows = GearModel.objects.filter(id__in=there.values("model_id"))
    return list(rows.select_related("manufacturer").order_by("kind", "name", "id"))


def bands_by_chart(model_id: UUID, size: str) -> list[Band]:
    """What the maker's chart gives a size, as the band that a loaner of it may be set up for; nothing without one."""
    chart = SizeChart.objects.newest().filter(model_id=model_id).values_list("rows", flat=True).first()
    lengths, _ = ranges_of(chart or [])
    own = [each for each in lengths if normal_form(each.size) == normal_form(size)]
    return [Band(each.kind, each.from_mm, each.to_mm) for each in own if isfinite(each.to_mm - each.from_mm)]
