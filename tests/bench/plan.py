"""`python -m tests.bench.plan`: a roster of 300 and an organisation of 10,000 in one pool, against the bare solver.

The bare solver is scipy's own call on the very matrix that the plan is solved by. The plan is all of it: sizes from
measures and charts, the pairs, the solving, and a line in words for every player. No database takes part. Each size
runs in a process of its own, whose most memory is told.
"""

import argparse
import json
import resource
import subprocess
import sys
from collections.abc import Callable
from datetime import date, timedelta
from random import Random
from statistics import median
from time import perf_counter
from typing import Any
from uuid import UUID

from scipy.optimize import linear_sum_assignment
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from fitting.domain import matching
from fitting.domain.allocation import allocate, board_of
from fitting.domain.plan_words import told
from fitting.domain.planning import Entrant, Model, Piece, Room, solve
from fitting.domain.pools import USUAL, Wearer
from fitting.domain.sizing import Estimate, SizeRange, Sizing
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind, Liner

DAY = date(2026, 7, 20)
HEAD = MeasurementKind.HEAD_CIRCUMFERENCE
LETTERS = ("S", "M", "L", "XL")
# Players, items, models, levels of play: these keep an organisation's candidates at about fifty a player.
SIZES = {"roster": (300, 360, 3, 1), "organisation": (10_000, 12_000, 360, 180)}
# One club so large that nothing bare could be asked: no solver takes every pair of it.
ONE_CLUB = "one-club"
ROUNDS = 5


def measure(name: str) -> dict[str, object]:
    """Both, in turns, on the same players and gear."""
    players, items, models, levels = SIZES[name]
    entrants, room = people(players, levels, Random(1)), gear(items, models, levels, Random(2))
    problem = problem_of(entrants, room)
    competitors: dict[str, Callable[[], Any]] = {
        "bare": bare(problem),
        "plan": lambda: told(solve(entrants, room, USUAL), DAY),
    }
    seconds: dict[str, list[float]] = {each: [] for each in competitors}
    for _ in range(ROUNDS):
        for each, act in competitors.items():
            began = perf_counter()
            act()
            seconds[each].append(perf_counter() - began)
    took = {each: median(values) for each, values in seconds.items()}
    lines = told(solve(entrants, room, USUAL), DAY).lines
    return {
        "size": name,
        "players": players,
        "items": items,
        "rows": problem.rows,
        "pairs": len(problem.pairs.costs),
        "candidates_a_player": round(int((problem.pairs.rows < players).sum()) / players),
        "planned": sum(line.item_id is not None for line in lines),
        "bare_seconds": round(took["bare"], 3),
        "plan_seconds": round(took["plan"], 3),
        "ratio": round(took["plan"] / took["bare"], 2),
        "most_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    }


def measure_one_club() -> dict[str, object]:
    """Ten thousand players and twelve thousand helmets of five models, of which all go with everybody; once."""
    random, room = Random(3), gear(12_000, 5, 1, Random(2))
    groups = sorted({offer.group for offer in room.offers})
    wearers = [
        Wearer(
            UUID(int=1_000_000 + n), {group: random.uniform(0.1, 1) for group in groups}, random.choice(room.offers).id
        )
        for n in range(10_000)
    ]
    began = perf_counter()
    plan = allocate(wearers, room.offers)
    return {
        "size": ONE_CLUB,
        "players": len(wearers),
        "items": len(room.offers),
        "pairs": board_of(wearers, room.offers).count_pairs(),
        "planned": len(plan.items),
        "allocate_seconds": round(perf_counter() - began, 3),
        "most_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    }


def bare(problem: matching.Problem) -> Callable[[], Any]:
    """The solver's own call, on a matrix that is written out already."""
    if problem.rows * (problem.columns + problem.rows) <= matching.MOST_DENSE_CELLS:
        full = matching.full(problem)
        return lambda: linear_sum_assignment(full)
    matrix = matching.sparse(problem)
    return lambda: min_weight_full_bipartite_matching(matrix)


def problem_of(entrants: list[Entrant], room: Room) -> matching.Problem:
    """The very matrix that a plan of these is solved by."""
    solved = solve(entrants, room, USUAL)
    wearers = [Wearer(each.id, solved.chances[each.id].groups, each.last) for each in solved.entrants]
    return board_of(wearers, room.offers).problem()


def people(count: int, levels: int, random: Random) -> list[Entrant]:
    """Heads about 565 mm with a deviation of 16 mm, measured to a millimetre or two; two in three had something."""
    return [
        Entrant(
            id=UUID(int=1_000_000 + number),
            level=f"level {number % levels}",
            measures={HEAD: Estimate(round(random.gauss(565, 16)), 1.5)},
            measured_on=DAY,
            last=UUID(int=2_000_000 + random.randrange(count)) if number % 3 else None,
        )
        for number in range(count)
    ]


def gear(count: int, models: int, levels: int, random: Random) -> Room:
    """Helmets of up to ten years, in sizes as heads are; each model is made for two levels of play."""
    known = [model(number, levels) for number in range(models)]
    pieces = [piece(number, known[number % models], random) for number in range(count)]
    return Room(Kind.HELMET, {each.id: each for each in known}, pieces)


def model(number: int, levels: int) -> Model:
    """One whose ranges begin a little elsewhere than those of the next."""
    begins = 505 + number % 20
    sizes = [SizeRange(size, HEAD, begins + 30 * n, begins + 30 * (n + 1)) for n, size in enumerate(LETTERS)]
    made_for = frozenset(f"level {(number + more) % levels}" for more in (0, 1))
    return Model(UUID(int=number + 1), f"Model {number}", Liner.AIR, made_for, Sizing(sizes))


def piece(number: int, of: Model, random: Random) -> Piece:
    """One in twenty may not go out."""
    size = random.choices(LETTERS, (10, 40, 40, 10))[0]
    against = "certification" if number % 20 == 0 else ""
    made_on = DAY - timedelta(days=random.randrange(3600))
    return Piece(UUID(int=2_000_000 + number), of.id, size, f"H{number}", made_on, against, "It lapses.")


def each_by_itself() -> None:
    """One line of JSON for each size."""
    for name in (*SIZES, ONE_CLUB):
        command = [sys.executable, "-m", "tests.bench.plan", "--size", name]
        sys.stdout.write(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
        sys.stdout.flush()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", choices=[*SIZES, ONE_CLUB])
    if asked := parser.parse_args().size:
        sys.stdout.write(json.dumps(measure_one_club() if asked == ONE_CLUB else measure(asked)) + "\n")
    else:
        each_by_itself()
