"""The gate: may an item be issued? And what happens when a concern does not answer."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Advice, Effect, Kind, Severity
from gearlife.models import Clock, Item
from gearlife.operations import holds, organisations
from gearlife.queries.concerns import Concern, ask, register, registered, registry
from gearlife.queries.gate import Verdict, verdicts
from gearlife.queries.recorded import read
from tests.factories import (
    DAY,
    LAST_GAME,
    SEASON_BEGINS,
    ClubFactory,
    ItemFactory,
    ModelFactory,
    SeasonFactory,
    noon,
    pads,
    put_on,
    stamp,
)
from tests.gearlife.failing_concerns import Garbled, Silent

pytestmark = pytest.mark.django_db


class OfTheClub(Concern):
    """A concern that bars whatever the club has."""

    kind = "of_the_club"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterable[Hit]:
        """One per club."""
        for club_id in {item.club_id for item in about.items.values()}:
            yield Hit(self.kind, Effect.NO_ISSUE, Advice.INSPECT, Severity.ACT, club_id, day, "The room is closed.")


@pytest.fixture(autouse=True)
def _registry_as_it_was() -> Iterator[None]:
    """Put back the list of concerns after a test that added to it."""
    before = registered()
    yield
    registry._concerns[:] = before  # nothing in use unregisters a concern


def verdict(item: Item, day: date = DAY) -> Verdict:
    """The gate's word on one item."""
    return verdicts([item.id], day)[item.id]


def against(item: Item, day: date = DAY) -> set[str]:
    """Which concerns speak against issuing it."""
    return {hit.kind for hit in verdict(item, day).against}


def test_an_item_with_nothing_against_it_may_be_issued() -> None:
    assert verdict(ItemFactory.create()).issuable


def test_an_item_is_asked_to_be_looked_over_now_and_is_not_barred_by_it() -> None:
    assert [hit.kind for hit in verdict(ItemFactory.create()).warnings] == ["look_before_issue"]


def test_pads_without_serial_and_date_may_be_issued() -> None:
    item = pads(ClubFactory.create(), serial="")

    assert verdict(item).issuable


def test_a_held_item_may_not_be_issued() -> None:
    item = ItemFactory.create()
    holds.hold(new=holds.NewHold(item.id, "Cracked."), stamp=stamp(item.organisation))

    assert against(item) == {"hold"}


def test_a_hold_that_begins_later_this_season_bars_the_issue() -> None:
    item = ItemFactory.create()
    new = holds.NewHold(item.id, "Loose.", starts_on=LAST_GAME, deferred=True)
    holds.hold(new=new, stamp=stamp(item.organisation))

    assert against(item) == {"repair"}


def test_a_hold_that_has_begun_is_told_since_its_day_and_one_to_come_from_it() -> None:
    item = ItemFactory.create()
    for starts_on in (DAY, DAY + timedelta(days=1)):
        holds.hold(new=holds.NewHold(item.id, f"Of {starts_on}.", starts_on=starts_on), stamp=stamp(item.organisation))

    because = " ".join(hit.because for hit in verdict(item).against)
    assert f"Held since {DAY}: " in because
    assert f"Held from {DAY + timedelta(days=1)}: " in because


def test_a_hold_that_begins_after_the_last_game_does_not_bar_the_issue() -> None:
    item = ItemFactory.create()
    new = holds.NewHold(item.id, "Loose.", starts_on=LAST_GAME + timedelta(days=1), deferred=True)
    holds.hold(new=new, stamp=stamp(item.organisation))

    assert verdict(item).issuable


def test_limits_are_read_to_the_seasons_last_game() -> None:
    lapses_in_season = ItemFactory.create(made_on="2024-12-05")
    lapses_after_it = ItemFactory.create(club=lapses_in_season.club, made_on="2024-12-06")

    assert against(lapses_in_season) == {"certification"}
    assert verdict(lapses_after_it).issuable


@pytest.mark.parametrize(
    ("day", "barred"),
    [
        (DAY, True),  # in the running season
        (LAST_GAME - timedelta(days=1), True),
        (date(2026, 3, 1), True),  # between two seasons: read to the next one's last game
        (date(2025, 12, 6), False),  # on the last game's day of the season before
    ],
)
def test_limits_are_read_to_the_last_game_of_the_running_or_the_next_season(day: date, barred: bool) -> None:
    item = ItemFactory.create(made_on="2024-12-05")
    SeasonFactory.create(club=item.club, year=2025, starts_on=date(2025, 8, 16), ends_on=date(2025, 12, 6))

    assert ("certification" in against(item, day)) is barred


@pytest.mark.parametrize(("day", "runs"), [(SEASON_BEGINS, True), (LAST_GAME, True), (date(2026, 12, 6), False)])
def test_a_round_runs_on_the_first_and_the_last_day_of_the_season(day: date, runs: bool) -> None:
    item = ItemFactory.create()
    put_on(item, at=noon(date(2026, 8, 1)))
    Clock.objects.filter(item=item, code="weekly_look").update(falls_on=SEASON_BEGINS)

    assert Clock.objects.filter(item=item, code="weekly_look").fallen(day).exists() is runs


def test_limits_follow_when_the_season_is_moved() -> None:
    item = ItemFactory.create(made_on="2024-12-06")
    season = item.club.seasons.get()
    organisations.change_season(season=season, changes={"ends_on": date(2026, 12, 19)}, stamp=stamp(item.organisation))

    assert against(item) == {"certification"}


def test_without_a_season_limits_are_read_for_today_only() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False), made_on="2024-10-15")

    assert verdict(item).issuable
    assert "no_season" in {hit.kind for hit in verdict(item).warnings}
    assert against(item, DAY + timedelta(days=1)) == {"certification"}


def test_a_season_entered_later_is_read_at_once() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False), made_on="2024-10-15")
    SeasonFactory.create(club=item.club)

    assert against(item) == {"certification"}


def test_an_item_that_a_player_has_may_not_be_issued_again() -> None:
    item = ItemFactory.create()
    put_on(item)

    assert against(item) == {"not_in_stock"}


def test_what_bars_a_club_bars_each_of_its_items() -> None:
    register(OfTheClub())

    assert against(ItemFactory.create()) == {"of_the_club"}


@pytest.mark.parametrize("concern", [Silent(), Garbled()], ids=["one that raises", "one whose query fails"])
def test_a_concern_that_does_not_answer_refuses_the_issue(concern: Concern) -> None:
    item = ItemFactory.create()
    register(concern)

    assert not verdict(item).issuable
    assert verdict(item).unanswered == [concern.kind]


@pytest.mark.parametrize("concern", [Silent(), Garbled()], ids=["one that raises", "one whose query fails"])
def test_the_other_concerns_still_answer(concern: Concern) -> None:
    item = ItemFactory.create(made_on="")
    register(concern)

    assert "made_on_unknown" in against(item)


def test_the_same_kind_registered_again_replaces_the_earlier() -> None:
    before = len(registered())
    register(Silent())
    register(Silent())

    assert len(registered()) == before + 1


def test_what_only_the_gate_asks_is_never_announced() -> None:
    item = ItemFactory.create()
    kinds = {hit.kind for hit in ask(read([item.id], DAY), DAY, Reach.LEAD).hits}

    assert not kinds & {concern.kind for concern in registered() if not concern.announces}


def test_the_number_of_queries_does_not_grow_with_the_items() -> None:
    club = ClubFactory.create()
    model = ModelFactory.create(manufacturer__organisation=club.organisation, kind=Kind.HELMET)
    gear = [ItemFactory.create(club=club, model=model, made_on="2010") for _ in range(6)]
    with CaptureQueriesContext(connection) as of_one:
        verdicts([gear[0].id], DAY)
    with CaptureQueriesContext(connection) as of_all:
        verdicts([item.id for item in gear], DAY)

    assert len(of_all) == len(of_one)
