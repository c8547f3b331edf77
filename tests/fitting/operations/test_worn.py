"""Recording what is worn already: never refused, and a stop at once when it could not have been issued."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, record_already_worn, record_worn
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Alert, Club, Item, LedgerEvent
from gearlife.operations import holds, items
from gearlife.queries.holders import holders_of
from gearlife.queries.ledger import first_broken
from tests.factories import AT, ClubFactory, ItemFactory, PlayerFactory, later

pytestmark = pytest.mark.django_db


def worn(item: Item, player: Player, now: Stamp, **more: Any) -> Assignment:
    """Record that the player wears the item; both rows are read anew."""
    made = record_worn(new=NewAssignment(item.id, player, **more), stamp=now)
    item.refresh_from_db()
    return made


def reasons(made: Assignment) -> list[str]:
    return [reason["code"] for reason in made.reasons_against]


def stops(item: Item) -> set[str]:
    """The open alerts of the item that cannot wait."""
    return set(Alert.objects.open().filter(item=item, severity="stop").values_list("kind", flat=True))


def test_what_could_have_been_issued_is_recorded_without_a_mark(item: Item, player: Player, now: Stamp) -> None:
    made = worn(item, player, now, issued_at=AT - timedelta(days=20))

    assert (made.recorded_as, made.could_not_be_issued, made.reasons_against) == ("already_worn", False, [])
    assert made.issued_at == AT - timedelta(days=20)
    assert (item.whereabouts, item.team_id) == (Whereabouts.PLAYER, player.team_id)
    assert not stops(item)


def test_what_could_not_have_been_issued_is_marked_with_every_reason_and_is_a_stop(
    club: Club, player: Player, now: Stamp
) -> None:
    item = ItemFactory.create(club=club, made_on="")
    holds.hold(new=holds.NewHold(item.id, "Loose rivet."), stamp=now)
    made = worn(item, player, now)

    assert made.could_not_be_issued
    assert set(reasons(made)) == {"hold", "made_on_unknown"}
    assert any("Loose rivet." in reason["detail"] for reason in made.reasons_against)
    assert stops(item) == {"worn_not_issuable", "worn_stopped"}


def test_a_retired_item_that_is_worn_is_recorded_and_a_stop(item: Item, player: Player, now: Stamp) -> None:
    items.retire(item=item, reason="Cracked.", on=None, stamp=now)
    made = worn(item, player, now)

    assert (item.whereabouts, reasons(made)) == (Whereabouts.PLAYER, ["retired"])
    assert stops(item) == {"worn_not_issuable", "worn_stopped"}


def test_a_missing_item_found_on_a_player_wants_a_full_inspection(item: Item, player: Player, now: Stamp) -> None:
    items.mark_missing(item=item, stamp=now)
    made = worn(item, player, later(now, days=1))

    assert reasons(made) == ["not_inspected_since_back"]
    assert item.came_back_at == AT + timedelta(days=1)
    assert stops(item) == {"worn_not_issuable"}


def test_an_item_found_with_another_player_ends_the_first_ones_assignment(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    first = issue(new=NewAssignment(item.id, player), stamp=now)
    other = PlayerFactory.create(club=club)
    made = worn(item, other, later(now, days=3), issued_at=AT + timedelta(days=2))
    first.refresh_from_db()

    assert (first.returned_at, first.condition_at_return) == (made.issued_at, "found with another player")
    assert Assignment.objects.open().get(item=item).player_id == other.id
    assert reasons(made) == ["not_inspected_since_back"]


def test_a_fact_older_than_the_record_is_history_and_moves_nothing(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    first = issue(new=NewAssignment(item.id, player), stamp=now)
    late = worn(item, PlayerFactory.create(club=club), now, issued_at=AT - timedelta(days=9))
    first.refresh_from_db()

    assert (first.returned_at, late.returned_at) == (None, first.issued_at)
    assert holders_of([item.id])[item.id].player_id == player.id


def test_a_fact_that_is_history_is_recorded_once_however_often_it_is_sent(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    other = PlayerFactory.create(club=club)
    first, again = (worn(item, other, now, issued_at=AT - timedelta(days=9)) for _ in range(2))

    assert first.id == again.id
    assert Assignment.objects.filter(item=item, player=other).count() == 1


def test_an_older_fact_about_a_player_leaves_what_the_player_has_now(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    first = issue(new=NewAssignment(item.id, player), stamp=now)
    other = ItemFactory.create(club=club)
    late = worn(other, player, now, issued_at=AT - timedelta(days=9))
    first.refresh_from_db()
    other.refresh_from_db()

    assert (first.returned_at, late.returned_at, other.whereabouts) == (None, first.issued_at, Whereabouts.STOCK)


def test_what_the_player_had_until_then_is_missing(club: Club, item: Item, player: Player, now: Stamp) -> None:
    first = issue(new=NewAssignment(item.id, player), stamp=now)
    worn(ItemFactory.create(club=club), player, later(now, days=1))
    first.refresh_from_db()
    item.refresh_from_db()

    assert (first.condition_at_return, item.whereabouts) == (
        "the player was found with another one",
        Whereabouts.MISSING,
    )
    assert LedgerEvent.objects.filter(item_id=item.id, action="marked_missing").exists()


def test_what_is_named_as_replaced_goes_to_the_room_instead(club: Club, item: Item, player: Player, now: Stamp) -> None:
    first = issue(new=NewAssignment(item.id, player), stamp=now)
    worn(ItemFactory.create(club=club), player, later(now, days=1), replaces_id=first.id)
    item.refresh_from_db()

    assert item.whereabouts == Whereabouts.STOCK


def test_two_players_who_swapped_leave_nothing_missing(club: Club, now: Stamp) -> None:
    one, two = ItemFactory.create(club=club), ItemFactory.create(club=club)
    ann, bea = PlayerFactory.create(club=club), PlayerFactory.create(club=club)
    issue(new=NewAssignment(one.id, ann), stamp=now)
    issue(new=NewAssignment(two.id, bea), stamp=now)
    record_already_worn([NewAssignment(two.id, ann), NewAssignment(one.id, bea)], later(now, days=1))

    assert dict(Assignment.objects.open().values_list("item_id", "player_id")) == {two.id: ann.id, one.id: bea.id}
    assert set(Item.objects.values_list("whereabouts", flat=True)) == {Whereabouts.PLAYER}


def test_gear_made_for_another_player_is_marked(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=club, made_for_one_player=True)
    issue(new=NewAssignment(item.id, player), stamp=now)
    made = worn(item, PlayerFactory.create(club=club), later(now, days=1))

    assert "made_for_another" in reasons(made)


def test_another_clubs_item_on_a_player_is_recorded_and_a_stop(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=ClubFactory.create(organisation=club.organisation))

    assert reasons(worn(item, player, now)) == ["other_club"]
    assert stops(item) == {"worn_not_issuable"}
    # The team is not one of the item's club's: its coach gets no sight of another club's gear.
    assert item.team_id is None


def test_the_same_fact_again_changes_nothing(item: Item, player: Player, now: Stamp) -> None:
    made = worn(item, player, now)
    events = LedgerEvent.objects.count()

    assert record_already_worn([NewAssignment(item.id, player)], now) == [made]
    assert (Assignment.objects.count(), LedgerEvent.objects.count()) == (1, events)


def test_the_same_fact_under_another_id_is_a_conflict(item: Item, player: Player, now: Stamp) -> None:
    worn(item, player, now)
    with pytest.raises(ConflictError) as refused:
        worn(item, player, now, id=uuid7())
    assert refused.value.code == "recorded_already"


def test_a_fact_in_the_future_is_refused(item: Item, player: Player, now: Stamp) -> None:
    with pytest.raises(InvalidInputError):
        worn(item, player, now, issued_at=AT + timedelta(hours=1))


def test_the_fact_is_written_in_the_ledger_with_the_codes_against(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=club, made_on="")
    worn(item, player, now)
    text = LedgerEvent.objects.get(item_id=item.id, action="found_worn").text

    assert '"against":["made_on_unknown"]' in text
    assert first_broken(item.organisation_id) is None


def test_the_number_of_queries_does_not_grow_with_the_facts(club: Club, now: Stamp) -> None:
    def queries(count: int) -> int:
        facts = [
            NewAssignment(ItemFactory.create(club=club, made_on="").id, PlayerFactory.create(club=club))
            for _ in range(count)
        ]
        with CaptureQueriesContext(connection) as asked:
            record_already_worn(facts, later(now, minutes=count))
        return len(asked)

    assert queries(2) == queries(9)
