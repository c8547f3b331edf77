"""What is said beside a suggested pair of item and player: how the fit of the pair stands, the style, the weight."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from fitting.domain.charts import ranges_of
from fitting.domain.fit_gate import MISSING
from fitting.domain.styles import ASK_FOR_WEIGHT, of_style
from fitting.models import Player, SizeChart
from fitting.queries.fit_gate import fits_of_pairs
from fitting.queries.fits import Pair
from gearlife.queries.recorded import read

Row = dict[str, Any]
# Of most pairs that a plan suggests there is no fit yet: it is said in few words.
NOT_YET = "Not fitted on this player yet."


def remarks_of(pairs: Iterable[tuple[UUID, UUID]]) -> dict[tuple[UUID, UUID], list[str]]:
    """What the charts' makers say beside sizes, by player and model; two queries."""
    asked = set(pairs)
    models, players = {model for _, model in asked}, {player for player, _ in asked}
    charts = SizeChart.objects.newest().filter(model_id__in=models).values_list("model_id", "rows", "positions")
    said = {model_id: (bool(ranges_of(rows)[1]), positions) for model_id, rows, positions in charts}
    position_of = dict(Player.objects.filter(id__in=players).values_list("id", "position")) if said else {}
    found = {}
    for player_id, model_id in asked:
        weighs, positions = said.get(model_id, (False, ()))
        style = of_style(positions, position_of[player_id]) if said else ()
        found[player_id, model_id] = [*([ASK_FOR_WEIGHT] if weighs else []), *style]
    return found


def with_remarks(rows: Collection[Row], day: date) -> list[Row]:
    """Rows of `item` and `player` with `fit` (empty where a current accepted one is recorded) and `remarks`.

    A fixed number of queries, however many the rows.
    """
    pairs: set[Pair] = {(row["item"], row["player"]) for row in rows if row["item"]}
    about = read({item_id for item_id, _ in pairs}, day) if pairs else None
    fits = fits_of_pairs(pairs, about, day) if about else {}
    model_of = {id_: item.model_id for id_, item in about.items.items()} if about else {}
    remarks = remarks_of((player, model_of[item]) for item, player in pairs) if pairs else {}
    words = {pair: each.words for pair, each in fits.items()}
    return [row | _said(row, words, remarks, model_of) for row in rows]


def _said(
    row: Row, fits: Mapping[Pair, str], remarks: Mapping[tuple[UUID, UUID], list[str]], model_of: Mapping[UUID, UUID]
) -> Row:
    if not row["item"]:
        return {"fit": "", "remarks": []}
    words = fits.get((row["item"], row["player"]), "")
    fit = NOT_YET if words == MISSING else words
    return {"fit": fit, "remarks": remarks[row["player"], model_of[row["item"]]]}
