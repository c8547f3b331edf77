"""`python -m tests.bench.recompute [--items N]`: catching up with a new rule against one plain pass.

The plain pass reads the same items in one statement, computes every clock of each by the same arithmetic, and inserts
the new ones in one bulk insert: no locks, no chunks, no alerts, no versions, nothing that resumes. A preview of the
rule is timed beside them, with the most memory that Python held for it.
"""

import argparse
import tracemalloc
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from time import perf_counter
from typing import Any

from tests.bench import harness

AT = datetime(2026, 10, 14, 16, 0, tzinfo=UTC)
DAY = date(2026, 10, 14)
CLUB = 500
CHUNK = 5_000
RULE = {"anchor": "made", "counts": "months", "amount": 60, "effect": "stop", "source": "the bench", "mark": "P"}


def measure(items: int) -> dict[str, object]:
    """One organisation of clubs of 500; a rule is added three times, and each side catches up with one of them."""
    from gearlife.models import Item
    from gearlife.operations import organisations, policy_changes, waiting

    organisation = organisations.found_organisation(name="Bench", timezone="America/Chicago", at=AT)
    fill(organisation, items)
    policy_changes.AT_ONCE = 0  # everything waits, and nobody is woken for it
    waiting.wake = lambda: None
    preview_seconds, counted = seconds(lambda: preview(organisation))
    held = most_held(lambda: preview(organisation))
    add(organisation, "bench_first")
    plain_seconds, _ = seconds(lambda: plain_pass(organisation, "bench_first"))
    add(organisation, "bench_second")
    caught_up_seconds, done = seconds(lambda: policy_changes.catch_up(organisations.own_stamp(organisation, AT)))
    assert done == items
    assert not Item.objects.with_stale_clocks().exists()
    return {
        "items": items,
        "plain_seconds": round(plain_seconds, 2),
        "catch_up_seconds": round(caught_up_seconds, 2),
        "items_a_second": round(items / caught_up_seconds),
        "ratio": round(caught_up_seconds / plain_seconds, 2),
        "preview_seconds": round(preview_seconds, 2),
        "preview_held_mb": round(held / 1e6, 1),
        "preview_stopped": counted.total("stopped"),
    }


def fill(organisation: Any, items: int) -> None:
    """Helmets of eight years, looked at on days of the last four weeks; one in three is worn."""
    from django.db import transaction

    from gearlife.models.inserting import insert_all
    from gearlife.operations import catalogue, organisations
    from gearlife.operations.settling import settle_new

    stamp = organisations.own_stamp(organisation, AT)
    maker = catalogue.add_manufacturer(name="Tarnwick", stamp=stamp)
    new = catalogue.NewModel(manufacturer=maker, name="Lantern", kind=kind(), certification_interval_months=24)
    model = catalogue.add_model(new=new, stamp=stamp)
    for first in range(0, items, CLUB):
        number = first // CLUB
        club = organisations.add_club(
            stamp=stamp, name=f"Bench {number}", code=f"B{number}", timezone="America/Chicago"
        )
        began, ends = date(2026, 8, 15), date(2026, 12, 5)
        organisations.add_season(stamp=stamp, club=club, year=2026, starts_on=began, ends_on=ends)
        made = [helmet(club, model, first + n, stamp) for n in range(min(CLUB, items - first))]
        with transaction.atomic():
            insert_all(made)
            settle_new(made, [], stamp)


def kind() -> Any:
    """Helmets."""
    from gearlife.domain.vocabulary import Kind

    return Kind.HELMET


def helmet(club: Any, model: Any, number: int, stamp: Any) -> Any:
    """One of them."""
    from gearlife.domain.partial_dates import PartialDate
    from gearlife.domain.vocabulary import Evidence
    from gearlife.operations import items

    made_on = PartialDate.parse(f"{2018 + number % 8}-{1 + number % 12:02d}")
    facts: dict[str, Any] = {"made_on": made_on, "made_on_evidence": Evidence.LABEL, "size": "M"}
    item = items.build(items.NewItem(club=club, model=model, serial=f"R-{number:07d}", **facts), stamp=stamp)
    item.certified_on = date(2026, 1 + number % 9, 1 + number % 28)
    item.last_look_at = AT - timedelta(days=number % 28)
    item.last_full_inspection_at = AT - timedelta(days=number % 280)
    item.whereabouts = "player" if number % 3 == 0 else "stock"
    return item


def add(organisation: Any, code: str) -> None:
    """Add the rule under a code."""
    from gearlife.models import PolicyRule
    from gearlife.operations import organisations, policy

    stamp = organisations.own_stamp(organisation, AT)
    policy.add_rules(rules=[PolicyRule(code=code, **RULE)], reason="the bench", stamp=stamp)


def preview(organisation: Any) -> Any:
    """What the rule would do."""
    from gearlife.models import PolicyRule
    from gearlife.operations import organisations, policy

    stamp = organisations.own_stamp(organisation, AT)
    change = policy.addition(rules=[PolicyRule(code="bench", **RULE)], stamp=stamp)
    return policy.preview(change=change, stamp=stamp)


def plain_pass(organisation: Any, code: str) -> None:
    """Read, compute, insert; it leaves the clocks right."""
    from gearlife.domain.clocks import clocks_of
    from gearlife.domain.recorded import CLOCK_COLUMNS
    from gearlife.models import Clock, Item, PolicyRule
    from gearlife.queries import recorded

    columns = (*recorded.OF_ITEM, *recorded.OF_MODEL, *recorded.OF_LIFE, *recorded.LAST, *recorded.REVISIONS)
    rows = Item.objects.filter(organisation=organisation).values_list(*columns)
    records = [recorded._item(row) for row in rows]
    rules = [rule.as_rule() for rule in PolicyRule.objects.filter(organisation=organisation)]
    seasons = recorded.seasons_of({record.club_id for record in records})
    clocks = (
        Clock(organisation=organisation, item_id=record.id, **{name: getattr(clock, name) for name in CLOCK_COLUMNS})
        for record in records
        for clock in clocks_of(record.facts(), rules, seasons[record.club_id])
        if clock.code == code
    )
    while chunk := list(islice(clocks, CHUNK)):
        Clock.objects.bulk_create(chunk)
    Item.objects.filter(organisation=organisation).update(clocks_revision=records[0].policy_revision)


def seconds(act: Callable[[], Any]) -> tuple[float, Any]:
    """How long it took, and what it gave."""
    began = perf_counter()
    given = act()
    return perf_counter() - began, given


def most_held(act: Callable[[], object]) -> int:
    """The most bytes that Python's objects held during the act, beyond those before."""
    tracemalloc.start()
    act()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--items", type=int, default=10_000)
    arguments = parser.parse_args()
    harness.run(lambda: measure(arguments.items))
