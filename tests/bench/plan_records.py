"""`python -m tests.bench.plan_records`: plans made out of the records, against the bare solver on the same matrices.

Everything counts: reading players, measures, charts and gear, asking the gate of each item, planning, and writing a
line for every player. The bare solver is scipy's own call, once for each club's matrix, on matrices that are written
out already. A club of 300 is planned at once, an organisation of 10,000 by the worker's own act.
"""

import argparse
import logging
from collections.abc import Callable, Mapping
from datetime import date
from random import Random
from typing import Any

from tests.bench.harness import in_turns, run

SIZES = (("S", 505, 535), ("M", 535, 565), ("L", 565, 595), ("XL", 595, 625))


def measure(players: int, clubs: int) -> Mapping[str, object]:
    """Median seconds of both in turns."""
    from fitting.models import AllocationPlan
    from fitting.queries.plans.situation import pools_of
    from gearlife.domain.vocabulary import Role
    from tests import factories

    organisation = factories.OrganisationFactory.create()
    made = [_club(organisation, players // clubs, Random(number)) for number in range(clubs)]
    by = factories.stamp(factories.actor(Role.ADMINISTRATOR, at=organisation))
    club = made[0] if clubs == 1 else None

    def plan() -> None:
        from fitting.operations.plans import NewPlan, make_plan
        from fitting.operations.plans.waiting_plans import do_waiting_plans
        from gearlife.domain.vocabulary import Kind

        make_plan(new=NewPlan(club=club, kind=Kind.HELMET), stamp=by)
        do_waiting_plans(factories.AT)

    plan()
    newest = AllocationPlan.objects.get()
    assert newest.state == "made", newest.failed_because
    pools = pools_of(_scope(newest))
    few = players <= 1_000
    seconds = in_turns({"plan": plan, "bare": _bare(pools)}, rounds=5 if few else 2, warm_up=1 if few else 0)
    return {
        "bench": "plan out of the records",
        "players": players,
        "clubs": clubs,
        "items": sum(len(pool.room.pieces) for pool in pools),
        "planned": newest.planned,
        "plan_seconds": round(seconds["plan"], 3),
        "bare_seconds": round(seconds["bare"], 3),
        "ratio": round(seconds["plan"] / seconds["bare"], 2),
    }


def _scope(plan: Any) -> Any:
    from fitting.operations.plans.scopes import scope_of

    return scope_of(plan, plan.asked_on)


def _bare(pools: list[Any]) -> Callable[[], object]:
    """The solver's own call on each club's matrix."""
    from tests.bench.plan import bare, problem_of

    calls = [bare(problem_of(pool.entrants, pool.room)) for pool in pools]
    return lambda: [call() for call in calls]


def _club(organisation: Any, players: int, random: Random) -> Any:
    """A club with three charted models, a fifth more helmets than players, and two readings of every head."""
    from django.db import transaction

    from gearlife.domain.vocabulary import Evidence
    from gearlife.models.inserting import insert_all
    from gearlife.operations import items
    from gearlife.operations.settling import settle_new
    from tests import factories
    from tests.fitting.club_to_plan import charted

    club, by = factories.ClubFactory.create(organisation=organisation), factories.stamp(organisation)
    models = [charted(club, f"Dome {n} of {club.code}", SIZES) for n in range(3)]
    new = [
        items.NewItem(
            club=club,
            model=random.choice(models),
            serial=f"{club.code}-{n}",
            size=random.choices(["S", "M", "L", "XL"], (10, 40, 40, 10))[0],
            made_on=_made(random),
            made_on_evidence=Evidence.LABEL,
        )
        for n in range(players * 6 // 5)
    ]
    built = [items.build(each, stamp=by) for each in new]
    with transaction.atomic():
        insert_all(built)
        settle_new(built, [], by)
    _players(club, players, random)
    return club


def _made(random: Random) -> Any:
    """A day of this year: certified up to the last game."""
    from gearlife.domain.partial_dates import PartialDate

    return PartialDate.parse(str(date(2026, 1 + random.randrange(6), 1 + random.randrange(28))))


def _players(club: Any, count: int, random: Random) -> None:
    """Heads about 565 mm with a deviation of 16."""
    from fitting.models import Measurement, Player
    from gearlife.models.inserting import insert_all
    from tests import factories

    players = [
        Player(
            organisation_id=club.organisation_id,
            club=club,
            given_name=f"Given{n}",
            family_name=f"Family{n}",
            name_key=f"given{n}family{n}",
        )
        for n in range(count)
    ]
    insert_all(players)
    heads = [round(random.gauss(565, 16)) for _ in players]
    insert_all(
        [
            Measurement(
                organisation_id=club.organisation_id,
                player=player,
                kind="head_circumference",
                readings_mm=[head - 0.5, head + 0.5],
                taken_on=factories.DAY,
                recorded_at=factories.AT,
            )
            for player, head in zip(players, heads, strict=True)
        ]
    )


if __name__ == "__main__":
    # No worker listens here: what waits is done by the bench itself.
    logging.getLogger("gearlife.operations.waiting").setLevel(logging.ERROR)
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=300)
    parser.add_argument("--clubs", type=int, default=1)
    asked = parser.parse_args()
    run(lambda: measure(asked.players, asked.clubs))
