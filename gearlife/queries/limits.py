"""Each limit of items in words and figures: limit, used, remaining, falls on, and why."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from gearlife.domain.clocks import UNKNOWN_DATE
from gearlife.domain.explaining import Explanation, explain
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Counts
from gearlife.models import Clock

Row = dict[str, Any]

COLUMNS = (
    "item_id",
    "code",
    "anchor",
    "anchor_on",
    "counts",
    "amount",
    "falls_on",
    "effect",
    "in_season_only",
    "rule_id",
)
BESIDE = (
    "rule__amount",
    "rule__source",
    "rule__mark",
    "item__model__certification_interval_months",
    "item__model__interval_stated_in",
)
# The column that holds each anchor's event, where a clock counts from something else until there is one.
NEVER = {
    Anchor.CERTIFIED: "item__certified_on",
    Anchor.LOOK: "item__last_look_at",
    Anchor.FULL_INSPECTION: "item__last_full_inspection_at",
    Anchor.AIR_CHECK: "item__last_air_check_at",
}
WITHOUT_DATE = Explanation("The date of manufacture must be known", None, None, None)


def known(day: date | None) -> date | None:
    """The day as it is shown: the earliest day there is stands for one that nobody knows."""
    return None if day == UNKNOWN_DAY else day


def limits_of(item_ids: Iterable[UUID], day: date) -> Mapping[UUID, list[Row]]:
    """The clocks of these items whose rules have not ended by the day, earliest fall first, in one query."""
    clocks = Clock.objects.filter(item_id__in=list(item_ids), until__gte=day).order_by("falls_on", "code", "id")
    limits: dict[UUID, list[Row]] = defaultdict(list)
    for clock in clocks.values(*COLUMNS, *BESIDE, *NEVER.values()):
        limits[clock["item_id"]].append(_limit(clock, day))
    return limits


def _limit(clock: Row, day: date) -> Row:
    said = _explanation(clock, day)
    return {
        "code": clock["code"],
        "limit": said.limit,
        "used": said.used,
        "remaining": said.remaining,
        "remaining_days": said.remaining_days,
        "falls_on": known(clock["falls_on"]),
        "effect": clock["effect"],
        "anchor_on": known(clock["anchor_on"]),
        "rule": clock["rule_id"],
        "source": clock["rule__source"] or "",
        "mark": clock["rule__mark"] or "",
        "because": _because(clock, day),
    }


def _explanation(clock: Row, day: date) -> Explanation:
    if clock["code"] == UNKNOWN_DATE:
        return WITHOUT_DATE
    return explain(
        counts=Counts(clock["counts"]),
        amount=clock["amount"],
        anchor=Anchor(clock["anchor"]),
        anchor_on=clock["anchor_on"],
        falls_on=clock["falls_on"],
        day=day,
    )


def _because(clock: Row, day: date) -> str:
    """Why it stands where it does: the state of the clock, then what is particular about its reckoning."""
    return " ".join(word for word in (_state(clock, day), _interval(clock), _anchor(clock), _rhythm(clock)) if word)


def _state(clock: Row, day: date) -> str:
    if clock["anchor_on"] == UNKNOWN_DAY:
        words = "No date of manufacture is recorded, so it cannot be shown to be under this limit"
        return f"{words}; evidence of the date resolves it."
    return f"{'Reached' if clock['falls_on'] <= day else 'Will be reached'} on {clock['falls_on']}."


def _interval(clock: Row) -> str:
    """Whose interval it is, where the rule leaves the amount to the maker."""
    if clock["rule_id"] is None or clock["rule__amount"] is not None:
        return ""
    if clock["item__model__certification_interval_months"] is None:
        return f"The maker's interval is not recorded for this model, so {clock['amount']} months are counted."
    where = clock["item__model__interval_stated_in"]
    return f"The maker states {clock['amount']} months{f' ({where})' if where else ''}."


def _anchor(clock: Row) -> str:
    """From where it counts while the event itself has not been recorded."""
    anchor = Anchor(clock["anchor"])
    if anchor not in NEVER or clock[NEVER[anchor]] is not None or clock["anchor_on"] == UNKNOWN_DAY:
        return ""
    if anchor is Anchor.CERTIFIED:
        return "No recertification is recorded, so it counts from the earliest day on which it can have been made."
    return "None is recorded, so it counts from the day on which the item was taken in."


def _rhythm(clock: Row) -> str:
    return "It runs in season only." if clock["in_season_only"] else ""
