"""A row that fails is named, and keeps no other row from being swept."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import OperationalError

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.recorded import Recorded
from gearlife.models import Alert, Club, Item, Sweep
from gearlife.operations import sweep as sweeping
from gearlife.queries.concerns import Concern, register, registered, registry
from gearlife.queries.recorded import read_facts
from gearlife.queries.sweeps import incomplete_words
from tests.factories import AT, ClubFactory, ItemFactory
from tests.gearlife.failing_concerns import Silent

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _registry_as_it_was() -> Iterator[None]:
    before = registered()
    yield
    registry._concerns[:] = before


class Poisoned(Concern):
    """A concern that does not answer where one of the items is among those asked about."""

    kind = "poisoned"

    def __init__(self, *items: Item) -> None:
        self.bad = {item.id for item in items}
        self.asked = 0

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterable[Hit]:
        self.asked += 1
        if self.bad & set(about.items):
            raise RuntimeError("a bad row")
        return []


def club_of(count: int) -> tuple[Club, list[Item]]:
    """A club whose items are all lapsed in a few years, so that a sweep then has something to open for each."""
    club = ClubFactory.create()
    first = ItemFactory.create(club=club)
    return club, [first, *(ItemFactory.create(club=club, model=first.model) for _ in range(count - 1))]


def sweep(club: Club) -> Sweep:
    return sweeping.sweep(organisation=club.organisation, at=AT + timedelta(days=1200))


def test_a_row_that_fails_is_named_and_all_others_are_swept() -> None:
    club, items = club_of(11)
    register(Poisoned(items[6]))
    run = sweep(club)

    assert (run.items_expected, run.items_examined, run.complete) == (11, 10, False)
    assert run.skipped == [{"item": str(items[6].id), "name": items[6].serial, "why": "poisoned"}]
    assert run.faults == ["poisoned"]
    assert incomplete_words(run) == f"1 of 11 items were not examined: {items[6].serial} (poisoned)."


def test_what_the_other_concerns_say_of_a_row_that_fails_is_not_lost() -> None:
    club, items = club_of(3)
    register(Poisoned(items[1]))
    sweep(club)

    assert set(Alert.objects.open().filter(kind="certification").values_list("item", flat=True)) == {
        item.id for item in items
    }


def test_a_row_that_breaks_the_reading_itself_is_named_too(monkeypatch: pytest.MonkeyPatch) -> None:
    club, items = club_of(5)

    def reading(ids: Any, *args: Any) -> Any:
        if items[2].id in ids:
            raise ValueError("no such day")
        return read_facts(ids, *args)

    monkeypatch.setattr(sweeping, "read_facts", reading)
    run = sweep(club)

    assert [(row["name"], row["why"]) for row in run.skipped] == [(items[2].serial, "ValueError")]
    assert run.items_examined == 4


def test_what_fails_for_every_row_is_not_asked_row_by_row_to_the_end() -> None:
    club, items = club_of(60)
    concern = Poisoned(*items)
    register(concern)
    run = sweep(club)

    assert len(run.skipped) == sweeping.MOST_NAMED
    assert (run.items_examined, run.complete) == (0, False)
    assert concern.asked < 120
    assert incomplete_words(run).endswith(" and more.")


def test_what_fails_once_and_not_again_leaves_the_sweep_complete(monkeypatch: pytest.MonkeyPatch) -> None:
    club, _ = club_of(4)
    failures = [RuntimeError("just now")]

    def reading(*args: Any) -> Any:
        if failures:
            raise failures.pop()
        return read_facts(*args)

    monkeypatch.setattr(sweeping, "read_facts", reading)

    assert sweep(club).complete


def test_a_database_that_is_away_is_not_asked_again_in_halves(monkeypatch: pytest.MonkeyPatch) -> None:
    club, _ = club_of(8)
    asked = []

    def away(ids: Any, *_: Any) -> Any:
        asked.append(len(ids))
        raise OperationalError("locked")

    monkeypatch.setattr(sweeping, "read_facts", away)
    run = sweep(club)

    assert (asked, run.faults, run.items_examined, run.complete) == ([8], ["OperationalError"], 0, False)


def test_a_club_whose_rows_fail_does_not_keep_another_club_from_being_swept() -> None:
    club, items = club_of(2)
    other = ItemFactory.create(club=ClubFactory.create(organisation=club.organisation))
    register(Poisoned(*items))
    run = sweep(club)

    assert run.items_examined == 1
    assert Alert.objects.open().filter(item=other, kind="certification")


def test_an_organisation_whose_concerns_are_silent_says_so() -> None:
    club, items = club_of(1)
    register(Silent())

    assert incomplete_words(sweep(club)) == f"1 of 1 items were not examined: {items[0].serial} (silent)."
