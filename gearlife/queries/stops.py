"""What must not be worn and nobody has taken notice of, as a mail names it: items by label, players by number."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from gearlife.domain.vocabulary import Kind, Severity
from gearlife.models import Alert
from gearlife.models.alerts import AlertQuerySet
from gearlife.queries.holders import Holder, holders_of

COLUMNS = (
    *("id", "item_id", "because", "item__kind", "item__serial", "item__tag", "item__model__name", "item__size"),
    "item__team__name",
)


@dataclass(frozen=True)
class Stop:
    """One item that must not be worn, and why."""

    because: str
    kind: Kind | None
    name: str
    worn_by: str


def unnoticed(alert_ids: Iterable[str]) -> AlertQuerySet:
    """Those of these alerts that are open, still stop, and that nobody has acknowledged."""
    open_ones: AlertQuerySet = Alert.objects.open()
    return open_ones.filter(id__in=list(alert_ids), severity=Severity.STOP.value, acknowledged_at__isnull=True)


def stops(alert_ids: Iterable[str]) -> list[Stop]:
    """The same as a mail names them, one an item with all that is against it, in two queries."""
    rows = list(unnoticed(alert_ids).order_by("falls_on", "kind", "item__serial_key", "id").values(*COLUMNS))
    holders = holders_of(UUID(str(row["item_id"])) for row in rows if row["item_id"])
    of_item: dict[str, list[dict[str, str]]] = {}
    for row in rows:
        of_item.setdefault(row["item_id"] or row["id"], []).append(row)
    found = [_stop(same, holders.get(UUID(str(key)))) for key, same in of_item.items()]
    return sorted(found, key=lambda stop: (stop.because, stop.name))


def _stop(rows: list[dict[str, str]], holder: Holder | None) -> Stop:
    row = rows[0]
    because = " ".join(each["because"] for each in rows)
    if not row["item_id"]:
        return Stop(because, None, "gear that no record has", "")
    label = row["item__serial"] or row["item__tag"] or "without a serial"
    tag = f", tag {row['item__tag']}" if row["item__serial"] and row["item__tag"] else ""
    model = " ".join(filter(None, (row["item__model__name"], row["item__size"])))
    kind = Kind(row["item__kind"]) if row["item__kind"] else None
    return Stop(because, kind, f"{label}{tag} ({model})", _worn_by(row, holder))


def _worn_by(row: dict[str, str], holder: Holder | None) -> str:
    if holder is None:
        return ""
    number = "a player without a number" if holder.number is None else f"No. {holder.number}"
    return ", ".join(filter(None, (number, row["item__team__name"])))
