"""One person's data, whole, and without other people's names; the packages above add what they hold."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Q, QuerySet

from fitting.domain.other_names import others_masked
from fitting.models import (
    Assignment,
    CountedGear,
    CountedReturn,
    Fit,
    Measurement,
    MeasurementRead,
    PlanLine,
    Player,
    PlayerChange,
    Receipt,
    SetAside,
)
from gearlife.models import Alert, Membership, User

Row = dict[str, Any]
PERSON = (
    *("id", "given_name", "family_name", "former_names", "jersey_number"),
    *("birth_year", "position", "removed_at"),
)
NAMED = {"serial": F("item__serial"), "tag": F("item__tag"), "model": F("item__model__name")}
MEASURED = ("id", "kind", "protocol", "tape", "readings_mm", "taken_on", "recorded_at")
FITTED = ("id", "item", "accepted", "tries", "size", "pads_and_air", "hairstyle", "measurement", "fitted_at")
WORN = (
    *("id", "item", "kind", "loan", "recorded_as", "issued_at", "returned_at", "condition_at_issue"),
    *("condition_at_return", "missing_parts", "could_not_be_issued", "reasons_against", "warnings"),
)
COUNTED = ("id", "kind", "count", "size", "condition_at_issue", "given_back", "lost", "handed_out_at")
BACK = ("id", "counted_gear", "count", "lost", "condition", "returned_at")
# A parent's name is the parent's: as whom somebody signed is told, and no name.
SIGNED = ("id", "shown", "player_name", "made_at", "replaced_at", "acknowledged_at", "acknowledged_as")
PLANNED = ("id", "plan", "kind", "outcome", "item", "size", "likelihood", "because", "state", "state_because")
KEPT = ("id", "item", "plan", "kind", "made_at", "ended_at", "ended_by")
ALERTED = ("id", "item", "kind", "advice", "severity", "because", "falls_on", "opened_at", "closed_at")
OWN_WORDS = frozenset({"player", "measurement_reads"})
READ_BY_MACHINE = "the program"
READ_BY_FORMER = "somebody without a role by now"


@dataclass(frozen=True)
class Wearing:
    """From when to when a player had an item; no end while it is out."""

    item_id: UUID
    since: datetime
    until: datetime | None


# The player's id and what was worn, when; rows by the name of the part.
Source = Callable[[UUID, Sequence[Wearing]], Mapping[str, list[Row]]]
_sources: list[Source] = []


def register_export(*sources: Source) -> None:
    """Add what a package above holds of a person; it does so in its `AppConfig.ready`."""
    _sources.extend(sources)


def export_of(player: Player) -> Row:
    """Everything that the records hold of a player, part by part, oldest first."""
    parts: Row = {
        "player": _person(player),
        "measurements": _of(Measurement, player, MEASURED, "taken_on"),
        "measurement_reads": _reads(player),
        "reported_changes": _of(PlayerChange, player, ("id", "kind", "happened_on", "recorded_at"), "happened_on"),
        "fits": _of(Fit, player, FITTED, "fitted_at", **NAMED),
        "assignments": _of(Assignment, player, WORN, "issued_at", **NAMED),
        "counted_gear": _of(CountedGear, player, COUNTED, "handed_out_at"),
        "counted_returns": list(
            CountedReturn.objects.filter(counted_gear__player=player).order_by("returned_at", "id").values(*BACK)
        ),
        "receipts": _of(Receipt, player, SIGNED, "made_at"),
        "plan_lines": _of(PlanLine, player, PLANNED, "id"),
        "set_asides": _of(SetAside, player, KEPT, "made_at", **NAMED),
        "alerts": list(_alerts(player).order_by("opened_at", "id").values(*ALERTED)),
    }
    worn = [Wearing(row["item"], row["issued_at"], row["returned_at"]) for row in parts["assignments"]]
    for source in _sources:
        parts |= source(player.id, worn)
    return _without_others(parts, player)


def _person(player: Player) -> Row:
    facts = {name: getattr(player, name) for name in PERSON}
    return facts | {"club": player.club.name, "team": player.team.name if player.team else None}


def _of(table: type[Any], player: Player, columns: Sequence[str], order: str, **more: F) -> list[Row]:
    rows: QuerySet[Any, Row] = table.objects.filter(player=player).order_by(order, "id").values(*columns, **more)
    return list(rows)


def _reads(player: Player) -> list[Row]:
    """Who was shown measurements, by role: names of other people are theirs."""
    reads = list(
        MeasurementRead.objects.filter(player=player).order_by("read_at", "id").values("read_at", "why", "read_by")
    )
    held = Membership.objects.filter(user_id__in={row["read_by"] for row in reads}).order_by("role")
    roles: dict[Any, str] = {}
    for user_id, role in held.values_list("user_id", "role"):
        roles.setdefault(user_id, role)
    return [{"read_at": row["read_at"], "why": row["why"], "by": _reader(row["read_by"], roles)} for row in reads]


def _reader(user_id: UUID | None, roles: Mapping[Any, str]) -> str:
    return roles.get(user_id, READ_BY_FORMER) if user_id else READ_BY_MACHINE


def _alerts(player: Player) -> QuerySet[Any]:
    """Alerts about the player, and those about gear that were opened while the player had it."""
    while_worn = Q(pk=None)
    for item_id, since, until in Assignment.objects.filter(player=player).values_list(
        "item_id", "issued_at", "returned_at"
    ):
        span = Q(item_id=item_id, opened_at__gte=since)
        while_worn |= span & Q(opened_at__lte=until) if until else span
    return Alert.objects.filter(Q(player_id=player.id) | while_worn, organisation_id=player.organisation_id)


def _without_others(parts: Row, player: Player) -> Row:
    others = Player.objects.filter(organisation_id=player.organisation_id, removed_at=None).exclude(id=player.id)
    accounts = User.objects.filter(organisation_id=player.organisation_id).values_list("username", flat=True)
    own = (player.given_name, player.family_name)
    mask = others_masked(others.values_list("given_name", "family_name"), accounts, own, player.jersey_number)
    return {name: part if name in OWN_WORDS else mask.masked(part) for name, part in parts.items()}
