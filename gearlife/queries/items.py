"""Items as rows: recorded facts, standing, whether each may be issued and why not, limits, holds, holder."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, Q, QuerySet

from gearlife.domain.concerns import Hit
from gearlife.domain.recorded import ItemRecord, Recorded
from gearlife.domain.vocabulary import Effect, Standing, Whereabouts
from gearlife.models import ItemQuerySet
from gearlife.queries.corrections import proposed_corrections
from gearlife.queries.gate import Verdict, verdicts, verdicts_about
from gearlife.queries.holders import Holder, holders_of
from gearlife.queries.holds import open_holds_of
from gearlife.queries.limits import known, limits_of
from gearlife.queries.recorded import read

Row = dict[str, Any]
Nested = Mapping[UUID, list[Row]]

NAMES = {"model_name": F("model__name"), "manufacturer_name": F("manufacturer__name")}
SHOWN = (
    *("id", "version", "serial", "tag", "kind", "model", "model_name", "manufacturer", "manufacturer_name", "size"),
    *(
        "colour",
        "notes",
        "made_on",
        "made_on_evidence",
        "made_for_one_player",
        "add_ons",
        "acquired_on",
        "certified_on",
    ),
    *("club", "team", "whereabouts", "retired_on", "retired_reason", "standing"),
)
# Until notices have their own place nobody may think that these records know of them.
RECALLS = {
    "checked": False,
    "detail": "Recalls and safety notices were not checked by these records: ask the maker and the authority.",
}
COLUMNS = tuple(name for name in SHOWN if name not in NAMES)
# Shown as null where nothing was recorded: an empty serial is not a serial.
NULL_WHEN_EMPTY = ("serial", "tag", "made_on")


def item_columns(items: ItemQuerySet, day: date) -> QuerySet[Any, Row]:
    """The items as plain rows, with their standing as of the day."""
    rows: QuerySet[Any, Row] = items.with_standing(day).values(*COLUMNS, **NAMES)
    return rows


def complete_items(rows: list[Row], day: date) -> list[Row]:
    """Add what is nested, in a number of queries that does not grow with the rows."""
    return complete_items_about(read([row["id"] for row in rows], day), rows, day)


def complete_items_about(about: Recorded, rows: list[Row], day: date) -> list[Row]:
    """The same of items that have been read, as of the same day."""
    ids = [row["id"] for row in rows]
    gate, limits, holds, holders = (
        verdicts_about(about, day),
        limits_of(about, day),
        open_holds_of(ids, day),
        holders_of(ids),
    )
    corrections = proposed_corrections(row["id"] for row in rows if row["retired_on"])
    return [
        _item(row, gate[row["id"]], holders.get(row["id"]))
        | _of_now(about, about.items[row["id"]], row["version"], day)
        | _nested(row["id"], limits, holds)
        | {"recalls": RECALLS, "retirement_correction": corrections.get(row["id"])}
        for row in rows
    ]


def issue_words(verdict: Verdict) -> Row:
    """What the gate says: `issuable`, every reason against it, and warnings that bar nothing."""
    return {
        "issuable": verdict.issuable,
        "not_issuable_because": [*map(reason, verdict.against), *map(_unanswered, verdict.unanswered)],
        "warnings": [*map(reason, verdict.warnings)],
    }


def reason(hit: Hit) -> Row:
    """One reason: its code, its words with the rule, what it does, and the day it falls on (null: not known)."""
    return {"code": hit.kind, "detail": hit.because, "effect": hit.effect.value, "falls_on": known(hit.falls_on)}


def of_standing(items: ItemQuerySet, standing: Standing, day: date, *, most: int) -> ItemQuerySet | None:
    """Those of this standing by the policy in force; None when more than `most` have clocks of an older one."""
    stale: list[UUID] = list(items.with_stale_clocks().order_by().values_list("id", flat=True)[: most + 1])
    by_rows = items.with_standing(day).filter(standing=standing.value)
    if not stale:
        return by_rows
    if len(stale) > most:
        return None
    about = read(stale, day)
    reckoned = [item.id for item in about.items.values() if about.standing(item, day) is standing]
    current = Q(standing=standing.value) & ~Q(id__in=stale)
    return items.with_standing(day).filter(current | Q(id__in=reckoned))


def issuable_ids(items: ItemQuerySet, day: date, *, most: int) -> set[UUID] | None:
    """Those that the gate lets out, in a fixed number of queries; None when it has to weigh more than `most`."""
    may_be = of_standing(items.filter(whereabouts=Whereabouts.STOCK.value), Standing.NO_STOP, day, most=most)
    if may_be is None:
        return None
    ids: list[UUID] = list(may_be.order_by().values_list("id", flat=True)[: most + 1])
    if len(ids) > most:
        return None
    return {id_ for id_, verdict in verdicts(ids, day).items() if verdict.issuable}


def _item(row: Row, verdict: Verdict, holder: Holder | None) -> Row:
    shown = {name: row[name] for name in SHOWN} | {name: row[name] or None for name in NULL_WHEN_EMPTY}
    return shown | issue_words(verdict) | {"held_by": holder.player_id if holder else None}


def _of_now(about: Recorded, item: ItemRecord, version: int, day: date) -> Row:
    """Standing by the policy in force; until the stored clocks have caught up with it, its revision is in the ETag."""
    standing = about.standing(item, day).value
    return {"standing": standing, "version": f"{version}.{item.policy_revision}" if item.stale else version}


def _nested(item_id: UUID, limits: Nested, holds: Nested) -> Row:
    return {"clocks": limits.get(item_id, []), "holds": holds.get(item_id, [])}


def _unanswered(kind: str) -> Row:
    detail = f"The question {kind.replace('_', ' ')} could not be answered, so the item is not issued. Try again."
    return {"code": kind, "detail": detail, "effect": Effect.NO_ISSUE.value, "falls_on": None}
