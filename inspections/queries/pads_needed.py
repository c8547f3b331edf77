"""Which pads a player had in a model when it last fitted, and where such pads are now."""

from collections.abc import Iterator, Mapping, Sequence
from uuid import UUID

from fitting.domain.pads_needed import PadNeeded
from fitting.models import Fit
from inspections.domain.parts import PADS, Change, Step, fit_alike
from inspections.models import PartStock
from inspections.queries.parts import changes_of, in_it_at


def pads_of_player(player_id: UUID, club_id: UUID, items: Mapping[UUID, UUID]) -> Mapping[UUID, Sequence[PadNeeded]]:
    """By item what the player needs in it, by the last accepted fit on an item of its model; three queries."""
    fits = Fit.objects.filter(player_id=player_id, accepted=True, item__model_id__in=set(items.values()))
    past = fits.order_by("fitted_at", "recorded_at", "id").values_list("item__model_id", "item_id", "fitted_at")
    last = {model_id: (item_id, at) for model_id, item_id, at in past}
    rows = changes_of({*items, *(item_id for item_id, _ in last.values())})
    had = {model_id: in_it_at(item_id, rows[item_id], at) for model_id, (item_id, at) in last.items()}
    counts = dict(PartStock.objects.filter(club_id=club_id).values_list("part_key", "count"))
    return {
        item_id: list(_needed(had[model_id], in_it_at(item_id, rows[item_id]), counts))
        for item_id, model_id in items.items()
        if model_id in had
    }


def _needed(had: Mapping[UUID, Step], has: Mapping[UUID, Step], counts: Mapping[str, int]) -> Iterator[PadNeeded]:
    for position_id, step in had.items():
        if step.now is None or step.position.sort not in PADS:
            continue
        fitted, there = step.now.fitted, has.get(position_id)
        yield PadNeeded(
            position=step.position.label,
            part=fitted.part,
            size=fitted.size,
            thickness_mm=fitted.thickness_mm,
            count=step.position.count,
            in_it=_is_in(there, step.now),
            in_stock=counts.get(fitted.key),
        )


def _is_in(there: Step | None, wanted: Change) -> bool:
    return there is not None and there.now is not None and fit_alike(there.now.fitted, wanted.fitted)
