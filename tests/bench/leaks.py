"""`python -m tests.bench.leaks`: how often the leak tests are wrong and right, over simulated seasons with known leaks.

From fixed seeds, as one line of JSON. A season is sixteen weekly checks of thirty helmets of one model, three of which
leak. Every liner loses a little, it grows colder week by week, and three mornings are cold at once. With a gauge each
check reads pressure and temperature, with errors; without one a hand feels what a cell has lost. Both tests are asked
after every check, as the concern is: an item counts as suspected when it was so in any week of the season.
"""

import json
import random
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from inspections.domain.air import REFERENCE, Reading, Surroundings, elsewhere
from inspections.domain.air_leaks import WINDOW_DAYS, verdicts
from inspections.domain.air_records import ONE_CELL, Act, Felt, Kept, Measured

FIRST_CHECK = date(2026, 8, 20)
WEEKS, HELMETS, LEAKERS = 16, 30, 3
FULL_KPA, AIR_AROUND_KPA = 25.0, 100.0
ORDINARY_KPA_A_WEEK, VARIES_KPA = 0.8, 0.4
COLD_MORNINGS = (6, 10, 13)
SEEDS = range(60)
# What a hand feels as too little, and how unsure it is.
SOFT_KPA, HAND_KPA = 18.0, 2.5


@dataclass
class Cell:
    """What is truly in a helmet, at reference conditions, and what it loses in a week."""

    kpa: float
    loses_a_week: float


Look = Callable[[random.Random, Cell, date, Surroundings], Iterator[Kept]]


def temperature_c(chance: random.Random, week: int) -> float:
    """From late summer to winter, with cold mornings; the same for the whole team."""
    return 26 - 1.2 * week - (12 if week in COLD_MORNINGS else 0) + chance.gauss(0, 2)


def kept(on: date, act: Act, felt: Felt | None, measured: Measured, minute: int = 0) -> Kept:
    at = datetime.combine(on, time(16, minute), UTC)
    return Kept(ONE_CELL, act, felt, measured, at, at, on)


def now_kpa(cell: Cell, outside: Surroundings) -> float:
    return elsewhere(Reading(cell.kpa, REFERENCE), outside).pressure_kpa


def fill(cell: Cell, outside: Surroundings) -> None:
    cell.kpa = elsewhere(Reading(FULL_KPA, outside), REFERENCE).pressure_kpa


def with_gauge(chance: random.Random, cell: Cell, on: date, outside: Surroundings) -> Iterator[Kept]:
    """A reading, and where it is low air and a second one; the gauge and the thermometer err."""

    def read() -> Measured:
        return Measured(
            max(0.0, now_kpa(cell, outside) + chance.gauss(0, 1)), outside.temperature_c + chance.gauss(0, 1), 100.0
        )

    yield kept(on, Act.READING, None, read())
    if now_kpa(cell, outside) + chance.gauss(0, 1) < SOFT_KPA:
        fill(cell, outside)
        yield kept(on, Act.ADDED, None, read(), minute=5)


def by_hand(chance: random.Random, cell: Cell, on: date, outside: Surroundings) -> Iterator[Kept]:
    """Firm, or air added."""
    if now_kpa(cell, outside) + chance.gauss(0, HAND_KPA) < SOFT_KPA:
        fill(cell, outside)
        yield kept(on, Act.ADDED, Felt.AIR_ADDED, Measured())
    else:
        yield kept(on, Act.READING, Felt.FIRM, Measured())


def season(seed: int, leak_kpa_a_week: float, look: Look) -> dict[int, int | None]:
    """The week in which each helmet was first suspected, None for never; the first three leak."""
    chance = random.Random(seed)
    cells = [
        Cell(
            FULL_KPA, abs(chance.gauss(ORDINARY_KPA_A_WEEK, VARIES_KPA)) + (leak_kpa_a_week if number < LEAKERS else 0)
        )
        for number in range(HELMETS)
    ]
    records: dict[int, list[Kept]] = {number: [] for number in range(HELMETS)}
    suspected: dict[int, int | None] = dict.fromkeys(range(HELMETS))
    for week in range(WEEKS):
        on = FIRST_CHECK + timedelta(weeks=week)
        outside = Surroundings(temperature_c(chance, week), barometric_kpa=AIR_AROUND_KPA + chance.gauss(0, 1))
        for number, cell in enumerate(cells):
            if week:
                cell.kpa = max(0.0, cell.kpa - cell.loses_a_week)
            records[number] += look(chance, cell, on, outside)
        window = {
            number: [each for each in rows if (on - each.on).days < WINDOW_DAYS] for number, rows in records.items()
        }
        for number, verdict in verdicts(window).items():
            if verdict.suspected and suspected[number] is None:
                suspected[number] = week + 1
    return suspected


def rates(leak_kpa_a_week: float, look: Look) -> dict[str, float | None]:
    """Over all seeds: the share of others suspected in a season, of leaking ones found, and the median week of that."""
    seasons = [season(seed, leak_kpa_a_week, look) for seed in SEEDS]
    leakers = LEAKERS if leak_kpa_a_week else 0
    others = [week for each in seasons for number, week in each.items() if number >= leakers]
    leaking = [week for each in seasons for number, week in each.items() if number < leakers]
    found = sorted(week for week in leaking if week is not None)
    return {
        "false_alarms": round(sum(week is not None for week in others) / len(others), 4),
        "found": round(len(found) / len(leaking), 3) if leaking else None,
        "median_week": found[len(found) // 2] if found else None,
    }


def main() -> None:
    told = {
        name: {f"{leak:g}": rates(leak, look) for leak in (0, 2, 4, 8, 15)}
        for name, look in (("gauge", with_gauge), ("by_hand", by_hand))
    }
    counts = {"seasons": len(SEEDS), "helmets": HELMETS, "leaking": LEAKERS, "checks": WEEKS}
    sys.stdout.write(json.dumps({"bench": "leaks", **counts, "by_leak_kpa_a_week": told}) + "\n")


if __name__ == "__main__":
    main()
