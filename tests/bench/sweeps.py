"""`python -m tests.bench.sweeps [--items N]`: the nightly sweep against one hand-written statement, as many newly due.

The statement inserts an alert for every clock that is announced since the last sweep and has none open: the least that
could be done. Half of what falls due is opened by the one, half by the other, in turns on one database.
"""

import argparse
from collections.abc import Mapping
from datetime import date, timedelta
from time import perf_counter
from typing import Any

from tests.bench.harness import run

NEWLY_DUE = 200
CHUNK = 5_000


def measure(items: int) -> Mapping[str, object]:
    """Two nights: on each the same number of helmets' certification is announced."""
    from django.db import connection

    from gearlife.models import Alert
    from tests import factories

    club = factories.ClubFactory.create()
    _fill(club, items)
    first, second = _nights(club)
    _swept(first - timedelta(days=1))
    opened_before = Alert.objects.count()
    ours = _swept(first)
    opened = Alert.objects.count() - opened_before
    began = perf_counter()
    with connection.cursor() as cursor:
        statement = STATEMENT.format(**WORDS[connection.vendor])
        cursor.execute(statement, {"since": first, "day": second, "club": _id(club.id)})
        by_hand_opened = cursor.rowcount
    by_hand = perf_counter() - began
    return {
        "bench": "nightly sweep",
        "items": items,
        "newly_due": opened,
        "newly_due_by_hand": by_hand_opened,
        "ours_ms": round(1000 * ours, 1),
        "by_hand_ms": round(1000 * by_hand, 1),
        "times_by_hand": round(ours / by_hand, 2),
    }


STATEMENT = """
INSERT INTO gearlife_alert (id, organisation_id, version, club_id, key, kind, advice, severity, stage, item_id,
  falls_on, because, opened_at, acknowledged_note, told_whom, put_off_reason)
SELECT {new_id}, c.organisation_id, 1, i.club_id, 'certification:' || c.item_id, 'certification',
  'recondition', 'plan', 'ahead', c.item_id, c.falls_on,
  'The certification lapses on ' || c.falls_on || '; a lapsed helmet is not certified.', {now}, '', '', ''
FROM gearlife_clock c JOIN gearlife_item i ON i.id = c.item_id
WHERE c.alert_on > %(since)s AND c.alert_on <= %(day)s AND c.until >= %(day)s AND c.anchor = 'certified'
  AND i.club_id = %(club)s AND i.retired_on IS NULL
  AND NOT EXISTS (SELECT 1 FROM gearlife_alert a WHERE a.organisation_id = c.organisation_id
    AND a.key = 'certification:' || c.item_id AND a.closed_at IS NULL)
"""
WORDS = {
    "sqlite": {"new_id": "lower(hex(randomblob(16)))", "now": "CURRENT_TIMESTAMP"},
    "postgresql": {"new_id": "gen_random_uuid()", "now": "now()"},
}


def _fill(club: Any, items: int) -> None:
    """Helmets certified for years to come, but for those announced on the two nights; all by the intake's own way."""
    from django.db import transaction

    from gearlife.domain.partial_dates import PartialDate
    from gearlife.domain.vocabulary import Evidence
    from gearlife.models.inserting import insert_all
    from gearlife.operations import items as operations
    from gearlife.operations.settling import settle_new
    from tests import factories

    by = factories.stamp(club.organisation)
    model = factories.ModelFactory.create(
        manufacturer__organisation=club.organisation, certification_interval_months=60
    )
    nights = {0: MADE, 1: MADE + timedelta(days=1)}
    for start in range(0, items, CHUNK):
        made = [
            operations.build(
                operations.NewItem(
                    club=club,
                    model=model,
                    serial=f"S-{n}",
                    size="L",
                    made_on=PartialDate.parse(str(nights[n % 2] if n < 2 * NEWLY_DUE else date(2026, 1, 1 + n % 28))),
                    made_on_evidence=Evidence.LABEL,
                ),
                stamp=by,
            )
            for n in range(start, min(start + CHUNK, items))
        ]
        with transaction.atomic():
            insert_all(made)
            settle_new(made, [], by)


MADE = date(2022, 3, 1)


def _nights(club: Any) -> tuple[date, date]:
    """The days on which the certifications of the two halves are announced."""
    from gearlife.models import Clock

    halves = [
        Clock.objects.filter(item__club=club, anchor="certified", anchor_on=MADE + timedelta(days=days))[0]
        for days in (0, 1)
    ]
    return halves[0].alert_on, halves[1].alert_on


def _swept(day: date) -> float:
    """The nightly sweep of a day, in seconds; it is complete."""
    from gearlife.operations import sweep as sweeping
    from tests.factories import noon

    began = perf_counter()
    [run_] = sweeping.sweep_for_the_day(at=noon(day))
    seconds = perf_counter() - began
    assert run_.complete, run_.faults
    return seconds


def _id(value: Any) -> Any:
    from django.db import connection

    return value.hex if connection.vendor == "sqlite" else value


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--items", type=int, default=10_000)
    wanted = parser.parse_args().items
    run(lambda: measure(wanted))
