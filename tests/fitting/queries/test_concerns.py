"""Worn though not issuable: a stop while something still speaks against it, and no longer."""

from datetime import date, timedelta

import pytest

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, record_worn, return_item
from gearlife.domain.access import Stamp
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Advice, Anchor, Effect, Evidence, Severity
from gearlife.models import Alert, Club, Item
from gearlife.operations import items
from gearlife.operations.settling import settle
from gearlife.operations.sweep import sweep
from gearlife.queries.concerns import ask
from gearlife.queries.recorded import read
from tests.factories import AT, DAY, ItemFactory, PlayerFactory, later

pytestmark = pytest.mark.django_db
KIND = "worn_not_issuable"


@pytest.fixture
def undated(club: Club) -> Item:
    """A helmet that may not be issued: nobody knows when it was made."""
    return ItemFactory.create(club=club, made_on="")


def hits(item: Item, reach: Reach, day: date = DAY) -> list[Hit]:
    return [hit for hit in ask(read([item.id], day), day, reach).hits if hit.kind == KIND]


def wear(item: Item, player: Player, now: Stamp) -> Assignment:
    return record_worn(new=NewAssignment(item.id, player, issued_at=AT - timedelta(days=2)), stamp=now)


def test_it_names_the_item_the_player_since_when_and_why(undated: Item, player: Player, now: Stamp) -> None:
    wear(undated, player, now)
    [hit] = hits(undated, Reach.NOW)

    assert (hit.item_id, hit.player_id, hit.club_id) == (undated.id, player.id, undated.club_id)
    assert (hit.effect, hit.severity, hit.advice) == (Effect.STOP, Severity.STOP, Advice.REPLACE)
    assert hit.falls_on == DAY - timedelta(days=2)
    assert "date of manufacture is not known" in hit.because


def test_it_is_announced_and_the_gate_hears_nothing_of_it(undated: Item, player: Player, now: Stamp) -> None:
    wear(undated, player, now)

    assert len(hits(undated, Reach.LEAD)) == 1
    assert hits(undated, Reach.SEASON) == []


def test_its_alert_closes_when_the_missing_fact_arrives(undated: Item, player: Player, now: Stamp) -> None:
    wear(undated, player, now)
    changes = {"made_on": PartialDate.parse("2026-02"), "made_on_evidence": Evidence.MAKERS_LETTER}
    items.change(item=undated, changes=changes, stamp=later(now, hours=1))

    assert not Alert.objects.open().filter(kind=KIND).exists()
    assert Assignment.objects.get(item=undated).could_not_be_issued


def test_a_full_inspection_ends_what_only_wanted_one(club: Club, item: Item, player: Player, now: Stamp) -> None:
    issue(new=NewAssignment(item.id, PlayerFactory.create(club=club)), stamp=now)
    record_worn(new=NewAssignment(item.id, player), stamp=later(now, hours=1))
    assert Alert.objects.open().filter(kind=KIND).exists()
    inspected = later(now, hours=2)
    [item] = Item.objects.locked([item.id])
    items.mark([item], Anchor.FULL_INSPECTION, {item.id: inspected.at}, inspected)
    settle([item.id], [], inspected)

    assert not Alert.objects.open().filter(kind=KIND).exists()


def test_gear_made_for_another_stays_a_stop_until_it_is_returned(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=club, made_for_one_player=True)
    first = issue(new=NewAssignment(item.id, PlayerFactory.create(club=club)), stamp=now)
    return_item(assignment=first, at=None, condition="", stamp=now)
    Item.objects.filter(id=item.id).update(last_full_inspection_at=AT)
    second = record_worn(new=NewAssignment(item.id, player), stamp=now)
    assert len(hits(item, Reach.NOW)) == 1

    return_item(assignment=second, at=None, condition="", stamp=later(now, hours=1))
    assert hits(item, Reach.NOW) == []


def test_what_was_issued_through_the_gate_is_never_one(item: Item, player: Player, now: Stamp) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)

    assert hits(item, Reach.LEAD) == []


def test_a_sweep_after_the_act_changes_nothing(undated: Item, player: Player, now: Stamp) -> None:
    wear(undated, player, now)
    run = sweep(organisation=undated.organisation, at=AT)

    assert (run.complete, run.opened, run.changed, run.closed) == (True, 0, 0, 0)


def test_a_concern_that_does_not_answer_ends_no_stop(
    undated: Item, player: Player, now: Stamp, monkeypatch: pytest.MonkeyPatch
) -> None:
    wear(undated, player, now)
    items.change(
        item=undated,
        changes={"made_on": PartialDate.parse("2026-02"), "made_on_evidence": Evidence.LABEL},
        stamp=later(now, hours=1),
    )
    assert hits(undated, Reach.NOW) == []

    def fail(*_: object) -> None:
        raise RuntimeError("nobody foresaw this")

    monkeypatch.setattr("gearlife.queries.concerns.facts.RetiredConcern.hits", fail)
    [hit] = hits(undated, Reach.NOW)
    assert "`retired`" in hit.because


def missing_alerts(item: Item) -> list[tuple[str, str]]:
    open_ones = Alert.objects.open().filter(item=item, kind="missing_stopped")
    return list(open_ones.values_list("severity", "advice"))


def test_a_stopped_item_that_goes_missing_from_a_player_stays_a_stop_until_it_is_found(
    undated: Item, player: Player, now: Stamp
) -> None:
    wear(undated, player, now)
    items.mark_missing(item=undated, stamp=now)
    assert missing_alerts(undated) == [("stop", "return")]
    assert Alert.objects.open().get(item=undated, kind="missing_stopped").player_id == player.id

    items.found(item=undated, stamp=later(now, hours=1))
    assert missing_alerts(undated) == []


def test_an_item_without_a_stop_or_lost_from_the_room_is_no_such_stop(
    undated: Item, player: Player, club: Club, now: Stamp
) -> None:
    lawful = ItemFactory.create(club=club)
    issue(new=NewAssignment(lawful.id, player), stamp=now)
    for item in (lawful, undated):
        items.mark_missing(item=item, stamp=now)

    assert missing_alerts(lawful) + missing_alerts(undated) == []
