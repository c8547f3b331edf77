"""What a player has now, as a receipt shows it; and whether a receipt is as it was when it was acknowledged."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Max

from fitting.domain import receipts
from fitting.domain.counted_gear import CONSUMED, outstanding
from fitting.models import Assignment, CountedGear, Receipt

GEAR = {
    "maker": F("item__manufacturer__name"),
    "model": F("item__model__name"),
    "serial": F("item__serial"),
    "tag": F("item__tag"),
    "size": F("item__size"),
    "condition": F("condition_at_issue"),
}
Line = dict[str, Any]


def held(player_id: UUID) -> dict[str, list[Line]]:
    """Serial gear and counted gear that a player has, as text and whole numbers; `since` is a moment in UTC.

    What is not taken back stands on receipts until one is acknowledged after it was handed out.
    """
    gear = Assignment.objects.open().filter(player_id=player_id).order_by("kind", "loan", "id")
    counted = CountedGear.objects.filter(player_id=player_id).order_by("kind", "handed_out_at", "id")
    signed = Receipt.objects.filter(player_id=player_id).aggregate(at=Max("acknowledged_at"))["at"]
    lines = [_counted(line) for line in counted if _is_with_the_player(line, signed)]
    return {
        "gear": [_gear(row) for row in gear.values("kind", "loan", "item_id", "issued_at", **GEAR)],
        "counted": lines,
    }


def is_intact(receipt: Receipt) -> bool:
    """Whether what was shown, and the acknowledgement if there is one, are what digest and seal were made of."""
    if receipts.digest(receipt.shown) != receipt.digest:
        return False
    return receipt.acknowledged_at is None or receipt.seal == sealed(receipt)


def sealed(receipt: Receipt) -> str:
    """The seal that belongs to an acknowledgement as its row has it; names that were taken out are not asked about."""
    if receipt.acknowledged_at is None:
        raise ValueError("nobody has acknowledged it")
    names = receipt.names_hash
    if receipt.salt:
        names = receipts.hidden(receipt.salt, receipt.player_name, receipt.acknowledged_name)
    return receipts.seal(
        shown=receipt.digest,
        names=names,
        signed_as=receipt.acknowledged_as,
        at=_moment(receipt.acknowledged_at),
        account=str(receipt.acknowledged_with_id),
        meaning=receipt.shown["meaning"],
    )


def _is_with_the_player(line: CountedGear, signed: datetime | None) -> bool:
    if line.kind in CONSUMED:
        return signed is None or line.handed_out_at > signed
    return bool(outstanding(line.kind, line.count, line.given_back, line.lost))


def _counted(line: CountedGear) -> Line:
    return {
        "line": str(line.id),
        "kind": line.kind,
        "count": line.count - line.given_back - line.lost,
        "size": line.size,
        "condition": line.condition_at_issue,
        "since": _moment(line.handed_out_at),
    }


def _gear(row: Line) -> Line:
    return row | {"item": str(row.pop("item_id")), "since": _moment(row.pop("issued_at"))}


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")
