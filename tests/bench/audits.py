"""`python -m tests.bench.audits`: the two audits of all gear against a plain `values_list` and a Counter, in process.

The plain side asks for the same rows by one or two queries of the ORM and does the calendar's arithmetic in Python, by
the same functions of the domain. The numbers must agree before anything is timed.
"""

import argparse
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping
from typing import Any

from tests.bench.harness import in_turns, milliseconds, run

YEARS = range(2008, 2026)
PER_CLUB = 5_000


def measure(items: int, rounds: int) -> Mapping[str, object]:
    """Time all four in turns; a ratio is how many times faster the one statement is."""
    _world(items)
    acts: dict[str, Callable[[], Any]] = {
        "ages": lambda: {(r["club"], r["kind"], r["years"]): r["items"] for r in _ages()["results"]},
        "plain_ages": _plain_ages,
        "limits": lambda: {(r["club"], r["kind"], r["code"], r["season"]): r["items"] for r in _limits()["results"]},
        "plain_limits": _plain_limits,
    }
    assert acts["ages"]() == acts["plain_ages"]()
    assert acts["limits"]() == acts["plain_limits"]()
    seconds = in_turns(acts, rounds, warm_up=2)
    return {
        "bench": f"audits of {items} items",
        **milliseconds(seconds),
        "ages_times_plain": round(seconds["plain_ages"] / seconds["ages"], 1),
        "limits_times_plain": round(seconds["plain_limits"] / seconds["limits"], 1),
    }


def _ages() -> dict[str, Any]:
    from gearlife.domain.ages import By
    from gearlife.models import Item
    from gearlife.queries import audits
    from tests.factories import DAY

    return audits.ages(Item.objects.all(), [By.CLUB, By.KIND], DAY)


def _limits() -> dict[str, Any]:
    from gearlife.domain.ages import By
    from gearlife.models import Item
    from gearlife.queries import audits
    from tests.factories import DAY

    return audits.limits(Item.objects.all(), [By.CLUB, By.KIND], DAY)


def _plain_ages() -> dict[tuple[Any, ...], int]:
    from gearlife.domain.ages import whole_years
    from gearlife.models import Item
    from tests.factories import DAY

    rows = Item.objects.filter(retired_on=None).exclude(whereabouts="disposed")
    columns = rows.values_list("club", "kind", "made_earliest")
    return dict(Counter((club, kind, whole_years(made, DAY)) for club, kind, made in columns))


def _plain_limits() -> dict[tuple[Any, ...], int]:
    from gearlife.domain.seasons import season_of
    from gearlife.models import Clock, Season
    from tests.factories import DAY

    seasons: dict[Any, list[Any]] = defaultdict(list)
    for season in Season.objects.all():
        seasons[season.club_id].append(season)
    rows = Clock.objects.filter(item__retired_on=None, until__gte=DAY).exclude(item__whereabouts="disposed")
    columns = rows.values_list("item__club", "item__kind", "code", "falls_on")
    known: dict[tuple[Any, Any], int] = {}
    counted: Counter[tuple[Any, ...]] = Counter()
    for club, kind, code, falls_on in columns:
        if (club, falls_on) not in known:
            known[club, falls_on] = season_of(seasons[club], falls_on)
        counted[club, kind, code, known[club, falls_on]] += 1
    return dict(counted)


def _world(items: int) -> None:
    """Clubs of some thousand helmets each, of every age."""
    from tests import factories
    from tests.gearlife.operations.many_items import helmets

    organisation = factories.OrganisationFactory.create()
    for _ in range(-(-items // PER_CLUB)):
        club = factories.ClubFactory.create(organisation=organisation)
        for year in YEARS:
            helmets(club, min(items, PER_CLUB) // len(YEARS), f"{year}-{year % 12 + 1:02d}-{year % 28 + 1:02d}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--items", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=20)
    wanted = parser.parse_args()
    run(lambda: measure(wanted.items, wanted.rounds))
