"""How gear was set on a player when it last fitted, model by model; a fact of the person, for officers alone."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from fitting.models import Assignment, Fit
from gearlife.models import Item


def set_with(item: Item, model_ids: Iterable[UUID]) -> Mapping[UUID, str]:
    """By model, the pads and air of the last accepted fit of it on whoever has the item now, in words; one query."""
    holder = Assignment.objects.open().filter(item=item).values("player_id")
    fits: QuerySet[Any, Any] = Fit.objects.filter(
        player_id__in=holder, accepted=True, item__model_id__in=list(model_ids)
    )
    rows = fits.order_by("fitted_at", "recorded_at", "id")
    return dict(rows.values_list("item__model_id", "pads_and_air"))
