"""`python -m tests.bench.sizing`: sizes of 100,000 players, beside the bare normal distribution on the same numbers.

`at_once`: the probability of each size as a plan asks for it, out of the players' measures; `to_try`: the same with the
sizes that are worth trying as objects, in their order; `one_by_one`: as a page asks for one player.
"""

from collections.abc import Callable, Mapping
from random import Random
from typing import Any

from tests.bench.harness import in_turns, run

PLAYERS = 100_000
ROUNDS = 5


def measure() -> Mapping[str, object]:
    """The median seconds of both, and that they agree."""
    import numpy as np
    from scipy.stats import norm

    from fitting.domain.sizing import Estimate, SizeRange, Sizing
    from fitting.domain.sizing_many import possible_of, probabilities
    from fitting.domain.vocabulary import MeasurementKind

    head = MeasurementKind.HEAD_CIRCUMFERENCE
    borders = [500.0, 530.0, 550.0, 570.0, 590.0, 620.0]
    rows = [SizeRange(str(number), head, *borders[number : number + 2]) for number in range(len(borders) - 1)]
    sizing, draw = Sizing(rows), Random(5)
    players = [{head: Estimate(draw.gauss(560, 18), 2.0)} for _ in range(PLAYERS)]
    values = np.array([each[head].value_mm for each in players])

    asked = [(measures, None) for measures in players]

    def bare() -> Any:
        return np.diff(norm.cdf(np.array(borders)[:, None], values, 2.0), axis=0)

    acts: dict[str, Callable[[], object]] = {
        "at_once": lambda: probabilities(sizing, asked),
        "to_try": lambda: possible_of(sizing, asked),
        "one_by_one": lambda: [sizing.of(measures) for measures in players],
    }
    seconds = in_turns({**acts, "bare": bare}, rounds=ROUNDS, warm_up=1)
    return {
        "bench": f"sizing of {PLAYERS} players",
        "sizes": len(rows),
        **{f"{name}_seconds": round(seconds[name], 3) for name in (*acts, "bare")},
        **{f"{name}_ratio": round(seconds[name] / seconds["bare"], 1) for name in acts},
        "largest_difference": float(np.abs(probabilities(sizing, asked) - bare()).max()),
    }


if __name__ == "__main__":
    run(measure)
