"""One person as the records know them: which gear, and what keeps the person from being removed."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import F

from fitting.models import (
    Assignment,
    CountedGear,
    Fit,
    Measurement,
    MeasurementRead,
    PlanLine,
    PlayerChange,
    Receipt,
    SetAside,
)
from gearlife.domain.errors import Fault
from gearlife.domain.vocabulary import HoldCause

WEARS = "Gear is out with this player: take it back first."
COUNTED = "Gear without a serial is out with this player: take it back, or note that it is lost."
INCIDENT = "Gear that this player wore is held after an incident: whoever that hold names ends it first."


def items_of(player_id: UUID) -> set[UUID]:
    """Every item that the records connect with a player."""
    sources = (Assignment, Fit, PlanLine, SetAside)
    ids = (source.objects.filter(player_id=player_id).values_list("item_id", flat=True) for source in sources)
    return {item_id for found in ids for item_id in found if item_id}


def bars(player_ids: Iterable[UUID]) -> Mapping[UUID, list[Fault]]:
    """What keeps players from being removed, in three queries: gear that is out, an incident that is open."""
    ids = list(player_ids)
    reasons: dict[UUID, list[Fault]] = defaultdict(list)
    out = Assignment.objects.open().filter(player_id__in=ids).order_by("player_id").values_list("player_id", flat=True)
    for player_id in out.distinct():
        reasons[player_id].append(Fault(WEARS, code="wears_gear"))
    counted = CountedGear.objects.outstanding().filter(player_id__in=ids).order_by("player_id")
    for player_id in counted.values_list("player_id", flat=True).distinct():
        reasons[player_id].append(Fault(COUNTED, code="has_counted_gear"))
    # A blow that happened before the player had the item is nobody's of theirs.
    held = Assignment.objects.filter(
        player_id__in=ids,
        item__holds__cause=HoldCause.INCIDENT.value,
        item__holds__released_at=None,
        item__holds__opened_at__gte=F("issued_at"),
    )
    for player_id in held.order_by("player_id").values_list("player_id", flat=True).distinct():
        reasons[player_id].append(Fault(INCIDENT, code="incident_open"))
    return reasons


def held_of(player_id: UUID) -> dict[str, int]:
    """How much the records hold of a person, by sort, in one query each."""
    tables: dict[str, type[Any]] = {
        "measurements": Measurement,
        "reads": MeasurementRead,
        "changes": PlayerChange,
        "assignments": Assignment,
        "fits": Fit,
        "receipts": Receipt,
    }
    return {name: table.objects.filter(player_id=player_id).count() for name, table in tables.items()}
