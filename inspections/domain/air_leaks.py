"""Whether a cell loses air faster than its team's: by a gauge's trend, or by how often it alone needed air.

Both ask only what sets this item apart from the others on the same days, so that a cold morning, which takes from all,
is no leak. The thresholds were chosen by simulated seasons (`tests/bench/leaks.py`), and are no maker's.
"""

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from itertools import pairwise
from statistics import median
from typing import TypeVar

from inspections.domain.air_records import Felt, Kept
from inspections.domain.trends import Slope, slope_of

Item = TypeVar("Item", bound=Hashable)
Days = Mapping[date, bool]

WEEK_DAYS = 7
# Loses so much more in a week than its team's, with the interval's mild end; the second is a heavy leak.
SLOW_KPA_A_WEEK, HEAVY_KPA_A_WEEK = 1.0, 8.0
CONFIDENCE = 0.95
# So many others on one day make its median; with fewer nothing is taken away, and nothing is compared.
FEWEST_OTHERS = 4
# Air needed on so many days at the least, and by chance alone less often than once in so many such items.
FEWEST_TOP_UPS, BY_CHANCE = 4, 0.01
# Three readings give a slope no interval.
FEWEST_READINGS = 4
# Needing air again within so many days, this often, is a cell to be replaced: common practice, no source [P].
AGAIN_DAYS, AGAIN_TIMES = 3, 2
# Between two readings: lost much, beyond three standard errors: common practice, no source [P].
MUCH_KPA, SURE = 10.0, 3.0
# What is older than this says nothing of how a cell is now: common practice, no source [P].
WINDOW_DAYS = 84


class Outcome(StrEnum):
    """What a leak test says; that nothing is suspected says no more than that."""

    NOTHING_SUSPECTED = "nothing_suspected"
    LEAK_SUSPECTED = "leak_suspected"


@dataclass(frozen=True)
class Verdict:
    """What the tests say, why, as of which day's record, and whether topping up is enough (`heavy`: it is not)."""

    outcome: Outcome
    because: str = ""
    heavy: bool = False
    slope: Slope | None = None
    chance: float | None = None
    on: date | None = None

    @property
    def suspected(self) -> bool:
        """Whether a leak is suspected."""
        return self.outcome is Outcome.LEAK_SUSPECTED


NOTHING = Verdict(Outcome.NOTHING_SUSPECTED)


# By a gauge.


def stretches_of(records: Iterable[Kept]) -> list[list[tuple[date, float]]]:
    """A cell's comparable pressures in order of time, at reference conditions, split wherever air was moved.

    What the gauge read after air was moved begins the next stretch.
    """
    stretches: list[list[tuple[date, float]]] = [[]]
    for record in sorted(records, key=lambda each: each.happened_at):
        if record.moves_air:
            stretches.append([])
        estimate = record.measured.at_reference
        if estimate:
            stretches[-1].append((record.on, estimate.pressure_kpa))
    return [stretch for stretch in stretches if stretch]


def team_drift(team: Mapping[Item, Sequence[Sequence[tuple[date, float]]]]) -> dict[date, float]:
    """How far the middle of the team has drifted by each of its days: the medians of the days' changes, added up.

    Only cells that were read on both of two days following each other count, and only where there are five of them.
    """
    changes: dict[tuple[date, date], list[float]] = defaultdict(list)
    for stretches in team.values():
        for stretch in stretches:
            for (before, had), (after, has) in pairwise(stretch):
                changes[before, after].append(has - had)
    days = sorted({day for pair in changes for day in pair})
    drift, drifted = dict.fromkeys(days[:1], 0.0), 0.0
    for pair in pairwise(days):
        of_pair = changes.get(pair, [])
        drifted += median(of_pair) if len(of_pair) > FEWEST_OTHERS else 0.0
        drift[pair[1]] = drifted
    return drift


def by_gauge(stretches: Sequence[Sequence[tuple[date, float]]], drift: Mapping[date, float]) -> Verdict:
    """The trend of one cell less its team's drift; nothing is suspected where there are too few readings for one."""
    points = [[(on.toordinal() / WEEK_DAYS, kpa - drift.get(on, 0.0)) for on, kpa in stretch] for stretch in stretches]
    slope = slope_of(points, CONFIDENCE)
    if slope is None or slope.interval is None or slope.interval[1] >= -SLOW_KPA_A_WEEK:
        return Verdict(Outcome.NOTHING_SUSPECTED, slope=slope)
    low, high = (-end for end in reversed(slope.interval))
    words = (
        f"By the gauge it loses {-slope.per_unit:.1f} kPa a week more than the others of its model"
        f" ({low:.1f} to {high:.1f})."
    )
    return Verdict(Outcome.LEAK_SUSPECTED, words, heavy=-slope.per_unit >= HEAVY_KPA_A_WEEK, slope=slope)


# By how often it needed air.


def days_of(records: Iterable[Kept]) -> dict[date, bool]:
    """The days on which an item's air was looked after, and on which of them it needed air."""
    days: dict[date, bool] = {}
    for record in records:
        days[record.on] = days.get(record.on, False) or record.needed_air
    return days


def chance_of(mine: Days, others: Iterable[Days]) -> float:
    """How likely an item would have needed air so often, had it been drawn by lot on each day among those who did.

    The exact one-sided test of a common odds ratio in a table for each day, given each day's totals (Birch, JRSS B 26
    (1964); Gart, Biometrika 57 (1970)); for one day it is Fisher's. A day on which all or none needed air says nothing.
    """
    needed, checked = _totals(mine, others)
    likelihoods = [1.0]
    for on in mine:
        share = needed[on] / checked[on]
        likelihoods = [
            (likelihoods[k] if k < len(likelihoods) else 0.0) * (1 - share) + (likelihoods[k - 1] if k else 0.0) * share
            for k in range(len(likelihoods) + 1)
        ]
    return min(1.0, sum(likelihoods[sum(mine.values()) :]))


def _totals(mine: Days, others: Iterable[Days]) -> tuple[dict[date, int], dict[date, int]]:
    needed, checked = ({on: int(short) for on, short in mine.items()}, dict.fromkeys(mine, 1))
    for other in others:
        for on in mine.keys() & other.keys():
            needed[on] += other[on]
            checked[on] += 1
    return needed, checked


def by_top_ups(mine: Days, others: Iterable[Days]) -> Verdict:
    """Whether one item needs air more often than the others of its model do on the same days."""
    short = sorted(on for on, needed in mine.items() if needed)
    if len(short) < FEWEST_TOP_UPS:
        return NOTHING
    chance = chance_of(mine, others)
    if chance >= BY_CHANCE:
        return Verdict(Outcome.NOTHING_SUSPECTED, chance=chance)
    again = sum((after - before).days <= AGAIN_DAYS for before, after in pairwise(short))
    words = f"It needed air on {len(short)} of {len(mine)} days; the others of its model, on the same days, far less."
    return Verdict(Outcome.LEAK_SUSPECTED, words, heavy=again >= AGAIN_TIMES, chance=chance)


# Both, and what has been lost at once.


def by_cell(records: Iterable[Kept]) -> dict[str, list[Kept]]:
    """An item's records by cell, in their order."""
    cells: dict[str, list[Kept]] = defaultdict(list)
    for record in records:
        cells[record.cell].append(record)
    return cells


def may_say_something(records: Sequence[Kept]) -> bool:
    """Whether an item's own records are enough for one of the tests, whatever the others' say."""
    needed = sum(days_of(records).values())
    return (
        needed >= FEWEST_TOP_UPS or sum(each.measured.at_reference is not None for each in records) >= FEWEST_READINGS
    )


def verdicts(team: Mapping[Item, Sequence[Kept]], asked: Collection[Item] | None = None) -> dict[Item, Verdict]:
    """What the tests say of items of one model in one club (all, unless some are `asked`), by the window's records."""
    days = {item: days_of(records) for item, records in team.items()}
    cells = {
        (item, cell): stretches_of(of_cell)
        for item, records in team.items()
        for cell, of_cell in by_cell(records).items()
    }
    drift = team_drift(cells)
    wanted = set(team if asked is None else asked)
    found: dict[Item, list[Verdict]] = {
        item: [by_top_ups(days[item], (days[other] for other in team if other != item))] for item in wanted
    }
    for (item, _), stretches in cells.items():
        if item in wanted:
            found[item].append(by_gauge(stretches, drift))
    return {item: replace(_joined(told), on=max(days[item], default=None)) for item, told in found.items()}


def _joined(told: Sequence[Verdict]) -> Verdict:
    suspected = [each for each in told if each.suspected]
    if not suspected:
        return next((each for each in told if each.slope), told[0])
    words = " ".join(dict.fromkeys(each.because for each in suspected))
    first = suspected[0]
    heavy = any(each.heavy for each in suspected)
    return Verdict(Outcome.LEAK_SUSPECTED, words, heavy=heavy, slope=first.slope, chance=first.chance)


def lost_much(records: Iterable[Kept]) -> list[Kept]:
    """The records of one cell that tell of much air lost: it would not hold, or read far less than the time before."""
    found, before = [], None
    for record in sorted(records, key=lambda each: each.happened_at):
        now = record.measured.at_reference
        if record.felt is Felt.WONT_HOLD:
            found.append(record)
        elif before and now and not record.moves_air:
            lost = before.pressure_kpa - now.pressure_kpa
            if lost >= MUCH_KPA and lost > SURE * (before.error_kpa**2 + now.error_kpa**2) ** 0.5:
                found.append(record)
        before = now if now else None if record.moves_air else before
    return found
