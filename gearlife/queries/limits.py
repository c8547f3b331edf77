"""Each limit of items in words and figures: limit, used, remaining, falls on, and why."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from gearlife.domain.clocks import UNKNOWN_DATE
from gearlife.domain.explaining import Explanation, explain
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.recorded import ClockRecord, ItemRecord, Recorded, RuleRecord
from gearlife.domain.vocabulary import Anchor

Row = dict[str, Any]

# Anchors of which there may have been no event yet, so that the clock counts from something else until there is one.
NEVER = {Anchor.CERTIFIED, Anchor.LOOK, Anchor.FULL_INSPECTION, Anchor.AIR_CHECK}
WITHOUT_DATE = Explanation("The date of manufacture must be known", None, None, None)


def known(day: date | None) -> date | None:
    """The day as it is shown: the earliest day there is stands for one that nobody knows."""
    return None if day == UNKNOWN_DAY else day


def limits_of(about: Recorded, day: date) -> Mapping[UUID, list[Row]]:
    """The clocks of the items read whose rules have not ended by the day, earliest fall first."""
    return {
        item_id: [_limit(about, about.items[item_id], clock, day) for clock in clocks]
        for item_id, clocks in about.clocks.items()
    }


def _limit(about: Recorded, item: ItemRecord, clock: ClockRecord, day: date) -> Row:
    said = _explanation(clock, day)
    rule = about.rules.get(clock.rule_id) if clock.rule_id else None
    return {
        "code": clock.code,
        "limit": said.limit,
        "used": said.used,
        "remaining": said.remaining,
        "remaining_days": said.remaining_days,
        "falls_on": known(clock.falls_on),
        "effect": clock.effect.value,
        "anchor_on": known(clock.anchor_on),
        "rule": clock.rule_id,
        "source": rule.source if rule else "",
        "mark": rule.mark if rule else "",
        "because": _because(item, clock, rule, day),
    }


def _explanation(clock: ClockRecord, day: date) -> Explanation:
    if clock.code == UNKNOWN_DATE:
        return WITHOUT_DATE
    return explain(
        counts=clock.counts,
        amount=clock.amount,
        anchor=clock.anchor,
        anchor_on=clock.anchor_on,
        falls_on=clock.falls_on,
        day=day,
    )


def _because(item: ItemRecord, clock: ClockRecord, rule: RuleRecord | None, day: date) -> str:
    """Why it stands where it does: the state of the clock, then what is particular about its reckoning."""
    words = (_state(clock, day), _interval(item, clock, rule), _anchor(item, clock), _rhythm(clock))
    return " ".join(word for word in words if word)


def _state(clock: ClockRecord, day: date) -> str:
    if not clock.dated:
        words = "No date of manufacture is recorded, so it cannot be shown to be under this limit"
        return f"{words}; evidence of the date resolves it."
    return f"{'Reached' if clock.falls_on <= day else 'Will be reached'} on {clock.falls_on}."


def _interval(item: ItemRecord, clock: ClockRecord, rule: RuleRecord | None) -> str:
    """Whose interval it is, where the rule leaves the amount to the maker."""
    if rule is None or rule.rule.amount is not None:
        return ""
    if item.stated_interval_months is None:
        return f"The maker's interval is not recorded for this model, so {clock.amount} months are counted."
    where = item.interval_stated_in
    return f"The maker states {clock.amount} months{f' ({where})' if where else ''}."


def _anchor(item: ItemRecord, clock: ClockRecord) -> str:
    """From where it counts while the event itself has not been recorded."""
    if clock.anchor not in NEVER or not clock.dated or item.happened()[clock.anchor]:
        return ""
    if clock.anchor is Anchor.CERTIFIED:
        return "No recertification is recorded, so it counts from the earliest day on which it can have been made."
    return "None is recorded, so it counts from the day on which the item was taken in."


def _rhythm(clock: ClockRecord) -> str:
    return "It runs in season only." if clock.in_season_only else ""
