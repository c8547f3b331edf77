"""`python -m tests.bench.sizing`: sizes of 100,000 players, beside the bare normal distribution on the same numbers."""

from collections.abc import Mapping
from random import Random
from typing import Any

from tests.bench.harness import in_turns, run

PLAYERS = 100_000
ROUNDS = 3


def measure() -> Mapping[str, object]:
    """The median seconds of both, and that they agree."""
    import numpy as np
    from scipy.stats import norm

    from fitting.domain.sizing import Candidate, Estimate, SizeRange, Sizing
    from fitting.domain.vocabulary import MeasurementKind

    head = MeasurementKind.HEAD_CIRCUMFERENCE
    borders = [500.0, 530.0, 550.0, 570.0, 590.0, 620.0]
    rows = [SizeRange(str(number), head, *borders[number : number + 2]) for number in range(len(borders) - 1)]
    sizing, draw = Sizing(rows), Random(5)
    players = [{head: Estimate(draw.gauss(560, 18), 2.0)} for _ in range(PLAYERS)]
    values = np.array([each[head].value_mm for each in players])

    def sized() -> list[list[Candidate]]:
        return [sizing.of(measures) for measures in players]

    def bare() -> Any:
        return np.diff(norm.cdf(np.array(borders)[:, None], values, 2.0), axis=0)

    seconds = in_turns({"ours": sized, "theirs": bare}, rounds=ROUNDS, warm_up=1)
    found, probabilities = sized(), bare()
    apart = max(
        abs(candidate.probability - probabilities[int(candidate.size), number])
        for number, candidates in enumerate(found)
        for candidate in candidates
    )
    return {
        "bench": f"sizing of {PLAYERS} players",
        "sizes": len(rows),
        "sizing_seconds": round(seconds["ours"], 3),
        "microseconds_a_player": round(1e6 * seconds["ours"] / PLAYERS, 2),
        "bare_scipy_seconds": round(seconds["theirs"], 3),
        "largest_difference": float(apart),
    }


if __name__ == "__main__":
    run(measure)
