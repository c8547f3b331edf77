"""Whatever schedules there are, an organisation is swept once for its day; a killed sweep is begun again."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection

from gearlife.models import Sweep
from gearlife.operations.sweep import AGAIN_AFTER, LEASE, sweep_for_the_day
from tests.factories import AT, DAY, ClubFactory, ItemFactory, OrganisationFactory

pytestmark = pytest.mark.django_db


def runs() -> int:
    return Sweep.objects.count()


def test_a_second_schedule_finds_the_day_swept() -> None:
    ItemFactory.create()
    for minutes in (0, 0, 1, 300):
        sweep_for_the_day(at=AT + timedelta(minutes=minutes))
    assert runs() == 1
    sweep_for_the_day(at=AT + timedelta(days=1))
    assert runs() == 2


def test_an_incomplete_sweep_is_made_again_on_the_same_day_an_hour_later() -> None:
    Sweep.objects.create(organisation=OrganisationFactory.create(), day=DAY, started_at=AT, finished_at=AT)
    sweep_for_the_day(at=AT + AGAIN_AFTER - timedelta(seconds=1))
    assert runs() == 1
    sweep_for_the_day(at=AT + AGAIN_AFTER)
    assert Sweep.objects.filter(complete=True).count() == 1


def test_a_day_is_swept_when_it_has_begun_in_every_club() -> None:
    east = ClubFactory.create(timezone="America/New_York")
    ClubFactory.create(organisation=east.organisation, timezone="America/Los_Angeles")
    midnight = datetime(2026, 10, 15, tzinfo=ZoneInfo("America/Los_Angeles"))
    swept = [[run.day for run in sweep_for_the_day(at=at)] for at in (AT, midnight - timedelta(minutes=1), midnight)]
    assert swept == [[date(2026, 10, 14)], [], [date(2026, 10, 15)]]


def test_a_sweep_under_way_is_left_to_it_and_a_killed_one_made_again() -> None:
    Sweep.objects.create(organisation=OrganisationFactory.create(), day=DAY, started_at=AT)
    sweep_for_the_day(at=AT + LEASE - timedelta(seconds=1))
    assert runs() == 1
    sweep_for_the_day(at=AT + LEASE)
    assert runs() == 2


@pytest.mark.django_db(transaction=True)
def test_schedules_that_ask_at_once_sweep_once() -> None:
    ItemFactory.create()

    def ask(_: int) -> int:
        try:
            return len(sweep_for_the_day(at=AT))
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(ask, range(4))) == [0, 0, 0, 1]
