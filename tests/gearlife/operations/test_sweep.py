"""The sweep: run again it changes nothing, two at once do no harm, and what fails is named and not hidden."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from threading import Barrier
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.models import Alert, Clock, Club, Hold, Item, LedgerEvent, Organisation, Sweep
from gearlife.operations import holds
from gearlife.operations import sweep as sweeping
from gearlife.queries.concerns import Concern, register, registered, registry
from gearlife.queries.sweeps import last_complete_sweep
from tests.factories import AT, DAY, ClubFactory, ItemFactory, OrganisationFactory, put_on, stamp
from tests.gearlife.failing_concerns import Garbled, Silent

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _registry_as_it_was() -> Iterator[None]:
    """Put back the list of concerns after a test that added to it."""
    before = registered()
    yield
    registry._concerns[:] = before


def untidy_club(*, copies: int = 1) -> Organisation:
    """A club with an undated item on a player, a held, a lapsed one and one more, of each so many."""
    club = ClubFactory.create()
    for _ in range(copies):
        undated, held = ItemFactory.create(club=club, made_on=""), ItemFactory.create(club=club)
        ItemFactory.create(club=club, made_on="2024-10")
        ItemFactory.create(club=club)
        holds.hold(new=holds.NewHold(held.id, "Cracked."), stamp=stamp(club.organisation))
        put_on(undated)
    return club.organisation


def everything() -> list[list[dict[str, Any]]]:
    """Every row that a sweep could touch."""
    tables: list[Any] = [Alert, Clock, Hold, Item, LedgerEvent]
    return [list(table.objects.order_by("id").values()) for table in tables]


def sweep(organisation: Organisation, days: int = 0) -> Sweep:
    """Sweep some days later."""
    return sweeping.sweep(organisation=organisation, at=AT + timedelta(days=days))


def counts(run: Sweep) -> tuple[int, int, int]:
    """What it opened, changed and closed."""
    return run.opened, run.changed, run.closed


def test_a_sweep_after_the_acts_finds_nothing_to_do() -> None:
    organisation = untidy_club()
    before = everything()
    runs = [sweep(organisation) for _ in range(3)]

    assert [counts(run) for run in runs] == [(0, 0, 0)] * 3
    assert everything() == before


def test_three_sweeps_of_a_later_day_do_it_once() -> None:
    organisation = untidy_club()
    first, second, third = (sweep(organisation, days=8) for _ in range(3))

    assert first.opened
    assert first.changed
    assert counts(second) == counts(third) == (0, 0, 0)


def test_a_sweep_opens_what_time_alone_has_brought() -> None:
    item = ItemFactory.create(made_on="2026-03")
    day = date(2028, 1, 1)  # sixty days before the first of March
    run = sweeping.sweep(organisation=item.organisation, at=AT, today=day)

    assert run.day == day
    assert Alert.objects.open().filter(item=item, kind="certification", stage="ahead")


def test_a_sweep_closes_what_is_gone_without_an_act() -> None:
    organisation = untidy_club()
    stray = Alert.objects.filter(kind="hold").get()
    Alert.objects.filter(id=stray.id).update(key="hold:of-nothing-that-is", item=stray.item)
    run = sweep(organisation)

    assert counts(run) == (1, 0, 1)


def test_a_sweep_restores_a_clock_that_was_missed() -> None:
    item = ItemFactory.create(made_on="2010")
    before = list(item.clocks.order_by("code").values("code", "falls_on"))
    item.clocks.filter(code="age_limit").delete()
    run = sweep(item.organisation)

    assert list(item.clocks.order_by("code").values("code", "falls_on")) == before
    assert run.complete


def test_a_complete_sweep_has_examined_every_item() -> None:
    run = sweep(untidy_club())

    assert (run.items_expected, run.items_examined, run.complete, run.faults) == (4, 4, True, [])
    assert run.finished_at == AT


@pytest.mark.parametrize("concern", [Silent(), Garbled()], ids=["one that raises", "one whose query fails"])
def test_a_concern_that_does_not_answer_leaves_the_sweep_incomplete_and_the_others_asked(concern: Concern) -> None:
    organisation = untidy_club()
    register(concern)
    run = sweep(organisation, days=8)

    assert (run.complete, run.faults) == (False, [concern.kind])
    assert run.opened


def test_what_a_silent_concern_said_before_still_stands() -> None:
    organisation = untidy_club()
    said = Alert.objects.filter(kind="hold").get()

    class SilentHolds(Silent):
        kind = "hold"

    register(SilentHolds())
    sweep(organisation)
    said.refresh_from_db()

    assert said.closed_at is None


def test_an_act_goes_through_though_a_concern_does_not_answer() -> None:
    item = ItemFactory.create()
    register(Garbled())
    holds.hold(new=holds.NewHold(item.id, "Cracked."), stamp=stamp(item.organisation))

    assert Alert.objects.open().filter(item=item, kind="hold")


def test_a_bad_row_leaves_the_sweep_incomplete_and_the_others_swept() -> None:
    broken, whole = untidy_club(), untidy_club()
    Club.objects.filter(organisation=broken).update(timezone="Nowhere/At all")
    runs = {run.organisation_id: run for run in sweeping.sweep_all(at=AT + timedelta(days=8))}

    assert (runs[broken.id].complete, runs[broken.id].items_examined) == (False, 0)
    assert runs[broken.id].faults == ["ZoneInfoNotFoundError"]
    assert (runs[whole.id].complete, bool(runs[whole.id].opened)) == (True, True)


def test_a_clubs_items_are_swept_on_its_own_calendar() -> None:
    club = ClubFactory.create(timezone="Pacific/Auckland")
    item = ItemFactory.create(club=club)
    new = holds.NewHold(item.id, "Loose.", starts_on=DAY + timedelta(days=1), deferred=True)
    holds.hold(new=new, stamp=stamp(club.organisation))
    sweep(club.organisation)  # 11 in the morning of the 14th in Chicago is the 15th in Auckland

    assert Alert.objects.get(item=item, kind="repair").stage == "due"


def test_the_number_of_queries_does_not_grow_with_the_items_in_a_chunk() -> None:
    few, many = untidy_club(), untidy_club(copies=3)
    with CaptureQueriesContext(connection) as of_few:
        sweep(few)
    with CaptureQueriesContext(connection) as of_many:
        sweep(many)

    assert len(of_many) == len(of_few)


# How long ago


def test_there_was_no_sweep_where_there_is_no_organisation() -> None:
    assert last_complete_sweep() is None


def test_the_last_complete_sweep_is_that_of_the_organisation_that_waits_longest() -> None:
    first, second = OrganisationFactory.create(), OrganisationFactory.create()
    sweep(first)
    assert last_complete_sweep() is None
    sweep(second, days=1)
    sweep(first, days=2)

    assert last_complete_sweep() == AT + timedelta(days=1)


def test_an_incomplete_sweep_does_not_count() -> None:
    organisation = ClubFactory.create().organisation
    ItemFactory.create(club__organisation=organisation)
    sweep(organisation)
    register(Silent())
    sweep(organisation, days=1)

    assert last_complete_sweep() == AT


# Two at once


def at_once(count: int, act: Any) -> list[Any]:
    """Run an act in threads that start together, each with a connection of its own; results or errors."""
    start = Barrier(count)

    def run(which: int) -> Any:
        try:
            start.wait(timeout=20)
            return act(which)
        except Exception as error:  # noqa: BLE001 - whatever it is, the test looks at it
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(run, range(count)))


@pytest.mark.django_db(transaction=True)
def test_two_sweeps_at_once_do_it_once() -> None:
    organisation = untidy_club()
    runs = at_once(2, lambda which: sweep(organisation, days=8))

    assert [type(run) for run in runs] == [Sweep, Sweep]
    assert sorted(counts(run) != (0, 0, 0) for run in runs) == [False, True]
    open_keys = list(Alert.objects.open().values_list("key", flat=True))
    assert len(open_keys) == len(set(open_keys))
    assert counts(sweep(organisation, days=8)) == (0, 0, 0)


@pytest.mark.django_db(transaction=True)
def test_a_sweep_never_undoes_an_act_that_runs_beside_it() -> None:
    organisation = untidy_club()
    item = Item.objects.filter(whereabouts="stock", holds__isnull=True).order_by("id")[0]
    new = holds.NewHold(item.id, "A blow.")

    def act(which: int) -> Any:
        return sweep(organisation) if which else holds.hold(new=new, stamp=stamp(organisation))

    assert not [error for error in at_once(2, act) if isinstance(error, Exception)]
    assert Alert.objects.open().filter(item=item, kind="hold").count() == 1
    assert counts(sweep(organisation)) == (0, 0, 0)


@pytest.mark.django_db(transaction=True)
def test_the_same_fact_recorded_by_two_at_once_opens_one_hold() -> None:
    item = ItemFactory.create()
    new = holds.NewHold(item.id, "A blow.", origin_id=item.id)
    results = at_once(3, lambda which: holds.hold(new=new, stamp=stamp(item.organisation)))

    assert sorted(opened for _, opened in results) == [False, False, True]
    assert Hold.objects.count() == 1
