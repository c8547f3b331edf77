"""The nightly sweep asks only what time may have touched, and finds what asking everything finds."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from gearlife.domain.vocabulary import Anchor, Counts, Effect
from gearlife.models import Alert, Club, Item, Organisation, Season, Sweep
from gearlife.operations import holds
from gearlife.operations import sweep as sweeping
from gearlife.queries.newly_due import newly_due
from tests.factories import AT, DAY, LAST_GAME, ClubFactory, ItemFactory, add_rule, noon, put_on, stamp
from tests.gearlife.operations.many_items import helmets

pytestmark = pytest.mark.django_db

SAID = ("key", "severity", "stage", "advice", "falls_on", "because", "player_id", "closed_at")


def night(organisation: Organisation, day: date) -> Sweep:
    """The nightly sweep of a day."""
    claim = sweeping._claim(organisation, noon(day))
    assert claim
    return sweeping._run(claim, noon(day), quick=True)


def open_alerts() -> set[tuple[Any, ...]]:
    return set(Alert.objects.open().values_list(*SAID))


def club_of_all_sorts() -> Club:
    """Gear whose limits fall on every kind of day: certifications, ages, looks, holds to come, unknown dates."""
    club = ClubFactory.create()
    for made in ("2016-12", "2024-10-20", "2024-11-03", "2024-12-06", "2025-03", ""):
        put_on(ItemFactory.create(club=club, made_on=made))
        ItemFactory.create(club=club, made_on=made)
    for days in (1, 5, 20):
        item = ItemFactory.create(club=club)
        new = holds.NewHold(item.id, "A loose rivet.", starts_on=DAY + timedelta(days=days), deferred=days > 1)
        holds.hold(new=new, stamp=stamp(club.organisation))
    return club


@pytest.fixture
def club() -> Club:
    club = club_of_all_sorts()
    assert sweeping.sweep(organisation=club.organisation, at=AT).complete
    return club


def test_the_first_sweep_and_one_a_week_ask_everything(club: Club) -> None:
    whole = [night(club.organisation, DAY + timedelta(days=days)).whole for days in range(1, 15)]

    assert whole == [False] * 6 + [True] + [False] * 6 + [True]


def test_a_quick_sweep_asks_few_and_is_complete(club: Club) -> None:
    helmets(club, 40)
    run = night(club.organisation, DAY + timedelta(days=1))

    assert run.complete
    assert 0 < run.items_expected < 20


def test_what_whole_sweeps_find_night_after_night_was_foreseen(club: Club) -> None:
    runs = [night(club.organisation, DAY + timedelta(days=days)) for days in range(1, 90)]

    assert sum(run.whole for run in runs) > 10
    assert sum(run.opened + run.changed + run.closed for run in runs) > 30
    assert [run.unforeseen for run in runs] == [0] * len(runs)


def test_a_whole_sweep_reports_what_the_quick_ones_had_missed(club: Club) -> None:
    due = newly_due(club, DAY, DAY + timedelta(days=2)) or []
    forgotten = Alert.objects.open().filter(item__isnull=False).exclude(item_id__in=due).order_by("id")[0]
    forgotten.delete()
    night(club.organisation, DAY + timedelta(days=1))
    assert not Alert.objects.filter(key=forgotten.key).exists()
    run = sweeping.sweep(organisation=club.organisation, at=noon(DAY + timedelta(days=2)))

    assert run.unforeseen == 1


def test_the_end_of_a_season_is_asked_of_the_whole_club(club: Club) -> None:
    for days in range(1, (LAST_GAME - DAY).days):
        night(club.organisation, DAY + timedelta(days=days))
    run = night(club.organisation, LAST_GAME + timedelta(days=1))

    assert run.items_examined == Item.objects.filter(club=club).count()


def test_after_a_sweep_for_a_day_to_come_the_next_asks_everything(club: Club) -> None:
    sweeping.sweep(organisation=club.organisation, at=AT, today=DAY + timedelta(days=30))
    run = night(club.organisation, DAY + timedelta(days=1))

    assert run.whole


def test_after_a_sweep_for_a_day_long_past_nothing_is_forgotten(club: Club) -> None:
    sweeping.sweep(organisation=club.organisation, at=noon(DAY), today=DAY - timedelta(days=200))
    night(club.organisation, DAY + timedelta(days=1))
    quick = open_alerts()
    sweeping.sweep(organisation=club.organisation, at=noon(DAY + timedelta(days=1)))

    assert quick == open_alerts()


def test_after_a_sweep_that_was_not_complete_nothing_is_forgotten(club: Club) -> None:
    Sweep.objects.create(organisation=club.organisation, day=DAY + timedelta(days=5), started_at=noon(DAY))
    night(club.organisation, DAY + timedelta(days=6))
    quick = open_alerts()
    sweeping.sweep(organisation=club.organisation, at=noon(DAY + timedelta(days=6)))

    assert quick == open_alerts()


class TestAnyNights(TestCase):
    """Whatever nights are slept through, whatever rule comes, whenever the season ends."""

    @settings(max_examples=12, deadline=None, derandomize=True)
    @given(
        sleeps=st.lists(st.integers(1, 40), min_size=1, max_size=5),
        amount=st.integers(10, 40),
        begins=st.integers(-5, 60),
        season_shift=st.integers(-60, 60),
    )
    def test_a_quick_sweep_finds_what_a_whole_one_finds(
        self, sleeps: list[int], amount: int, begins: int, season_shift: int
    ) -> None:
        club = club_of_all_sorts()
        by = timedelta(days=season_shift)
        Season.objects.filter(club=club).update(ends_on=LAST_GAME + by)
        add_rule(
            club.organisation,
            code="club_limit",
            anchor=Anchor.MADE.value,
            counts=Counts.MONTHS.value,
            amount=amount,
            effect=Effect.STOP.value,
            lead_days=14,
            in_force_from=DAY + timedelta(days=begins),
        )
        sweeping.sweep(organisation=club.organisation, at=AT)
        day = DAY
        for nights in sleeps:
            day += timedelta(days=nights)
            night(club.organisation, day)
            quick = open_alerts()
            whole = sweeping.sweep(organisation=club.organisation, at=noon(day))
            assert quick == open_alerts(), whole.unforeseen
