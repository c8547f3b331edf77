"""Issuing: the gate is asked under the items' locks, and every reason is given."""

from collections.abc import Iterator
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue, issue_all, return_item
from gearlife.domain.access import Stamp
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Club, Item, LedgerEvent
from gearlife.operations import holds, items
from gearlife.queries.concerns import Concern, register, registry
from gearlife.queries.ledger import first_broken
from tests.factories import (
    AT,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    add_rule,
    later,
    pads,
    stamp,
)
from tests.fitting.operations.refusals import codes, refusal
from tests.gearlife.ledgers import typed

pytestmark = pytest.mark.django_db


def test_an_issued_item_is_with_the_player_and_in_the_players_team(item: Item, player: Player, now: Stamp) -> None:
    made = issue(new=NewAssignment(item.id, player, condition_at_issue="new"), stamp=now)
    item.refresh_from_db()

    assert (item.whereabouts, item.team_id) == (Whereabouts.PLAYER, player.team_id)
    assert (made.kind, made.issued_at, made.recorded_by_id) == ("helmet", AT, now.actor.user_id)
    assert not made.could_not_be_issued


def test_an_issue_is_written_in_the_ledger_with_ids_alone(item: Item, player: Player, now: Stamp) -> None:
    made = issue(new=NewAssignment(item.id, player, condition_at_issue="new"), stamp=now)
    event = LedgerEvent.objects.filter(item_id=item.id, action="issued").get()

    assert all(str(id_) in event.text for id_ in (made.id, player.id))
    assert typed(event) == {"condition": "new"}
    assert first_broken(item.organisation_id) is None


def test_an_issue_raises_the_items_version(item: Item, player: Player, now: Stamp) -> None:
    before = Item.objects.get(id=item.id).version
    issue(new=NewAssignment(item.id, player), stamp=now)

    assert Item.objects.get(id=item.id).version > before


def test_every_reason_against_an_item_is_given(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=club, made_on="")
    holds.hold(new=holds.NewHold(item.id, "Loose rivet."), stamp=now)
    refused = refusal(NewAssignment(item.id, player), now)

    assert refused.code == "not_issuable"
    assert set(codes(refused)) == {("/item", "made_on_unknown"), ("/item", "hold")}
    assert any("Loose rivet." in fault.detail for fault in refused.faults)


def test_a_limit_that_falls_before_the_last_game_is_a_reason_and_names_its_rule(
    club: Club, player: Player, now: Stamp
) -> None:
    add_rule(club.organisation, amount=8, source="the club's own rule")
    item = ItemFactory.create(club=club, made_on="2026-03-20")
    refused = refusal(NewAssignment(item.id, player), now)

    assert codes(refused) == [("/item", "age_limit")]
    assert "the club's own rule" in refused.faults[0].detail


def test_a_returned_item_is_not_issued_before_its_full_inspection(item: Item, player: Player, now: Stamp) -> None:
    made = issue(new=NewAssignment(item.id, player), stamp=now)
    return_item(assignment=made, at=None, condition="muddy", stamp=later(now, hours=1))

    assert codes(refusal(NewAssignment(item.id, player), later(now, hours=2))) == [
        ("/item", "not_inspected_since_back")
    ]


def test_an_item_that_is_out_is_refused_as_out_already(club: Club, item: Item, player: Player, now: Stamp) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    refused = refusal(NewAssignment(item.id, PlayerFactory.create(club=club)), now)

    assert refused.code == "already_out"
    assert codes(refused) == [("/item", "already_out")]


def test_a_player_with_one_of_the_kind_is_told_the_way_out(club: Club, item: Item, player: Player, now: Stamp) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    refused = refusal(NewAssignment(ItemFactory.create(club=club).id, player), now)

    assert refused.code == "player_has_one"
    assert codes(refused) == [("/player", "player_has_one")]
    assert item.serial in refused.faults[0].detail
    assert "take it back first, or hand this one out in its place" in refused.faults[0].detail


def test_a_player_may_have_one_of_each_kind_and_one_on_loan_beside_it(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    issue(new=NewAssignment(pads(club).id, player), stamp=now)
    issue(new=NewAssignment(ItemFactory.create(club=club).id, player, loan=True), stamp=now)

    assert Assignment.objects.open().filter(player=player).count() == 3


def test_an_item_of_another_club_is_not_issued(club: Club, player: Player, now: Stamp) -> None:
    elsewhere = ClubFactory.create(organisation=club.organisation)

    assert codes(refusal(NewAssignment(ItemFactory.create(club=elsewhere).id, player), now)) == [
        ("/item", "other_club")
    ]


def test_what_was_made_for_one_player_goes_to_nobody_else(club: Club, player: Player, now: Stamp) -> None:
    item = ItemFactory.create(club=club, made_for_one_player=True)
    made = issue(new=NewAssignment(item.id, player), stamp=now)
    return_item(assignment=made, at=None, condition="", stamp=now)
    item.refresh_from_db()
    Item.objects.filter(id=item.id).update(last_full_inspection_at=AT)

    assert codes(refusal(NewAssignment(item.id, PlayerFactory.create(club=club)), now)) == [
        ("/item", "made_for_another")
    ]
    assert issue(new=NewAssignment(item.id, player), stamp=now).player_id == player.id


class Broken(Concern):
    kind = "broken"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        raise RuntimeError("nobody foresaw this")


def test_a_concern_that_does_not_answer_refuses_the_issue(
    item: Item, player: Player, now: Stamp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(registry, "_concerns", [*registry.registered()])
    register(Broken())
    refused = refusal(NewAssignment(item.id, player), now)

    assert refused.code == "not_issuable"
    assert codes(refused) == [("/item", "concern_failed")]
    assert "broken" in refused.faults[0].detail


# Many at once


def test_of_a_list_all_are_issued_or_none_and_the_refusal_names_the_places(club: Club, now: Stamp) -> None:
    good, bad = ItemFactory.create(club=club), ItemFactory.create(club=club, made_on="")
    wanted = [NewAssignment(each.id, PlayerFactory.create(club=club)) for each in (good, bad)]
    with pytest.raises(ConflictError) as refused:
        issue_all(wanted, now)

    assert codes(refused.value) == [("/1/item", "made_on_unknown")]
    assert not Assignment.objects.exists()


def test_a_list_gives_the_assignments_in_its_own_order(club: Club, now: Stamp) -> None:
    wanted = [NewAssignment(ItemFactory.create(club=club).id, PlayerFactory.create(club=club)) for _ in range(4)]
    wanted.reverse()

    assert [made.item_id for made in issue_all(wanted, now)] == [new.item_id for new in wanted]


def test_a_list_that_names_an_item_or_a_player_twice_is_refused(club: Club, item: Item, now: Stamp) -> None:
    one, two = PlayerFactory.create(club=club), PlayerFactory.create(club=club)
    for doubled, pointer in (
        ([NewAssignment(item.id, one), NewAssignment(item.id, two)], "/1/item"),
        ([NewAssignment(item.id, one), NewAssignment(ItemFactory.create(club=club).id, one)], "/1/player"),
    ):
        with pytest.raises(InvalidInputError) as refused:
            issue_all(doubled, now)
        assert refused.value.faults[0].pointer == pointer


def test_the_number_of_queries_does_not_grow_with_the_list(club: Club, now: Stamp) -> None:
    def queries(count: int) -> int:
        new = [NewAssignment(ItemFactory.create(club=club).id, PlayerFactory.create(club=club)) for _ in range(count)]
        with CaptureQueriesContext(connection) as asked:
            issue_all(new, now)
        return len(asked)

    assert queries(2) == queries(9)


def test_an_item_that_does_not_exist_is_named(player: Player, now: Stamp) -> None:
    with pytest.raises(InvalidInputError) as refused:
        issue(new=NewAssignment(player.id, player), stamp=now)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("/item", "unknown_id")]


# Missing


def test_an_item_that_goes_missing_is_no_longer_with_the_player(item: Item, player: Player, now: Stamp) -> None:
    made = issue(new=NewAssignment(item.id, player), stamp=now)
    gone = later(now, days=2)
    items.mark_missing(item=item, stamp=gone)
    made.refresh_from_db()

    assert (made.returned_at, made.condition_at_return) == (gone.at, "missing")
    assert list(LedgerEvent.objects.filter(item_id=item.id).order_by("seq").values_list("action", flat=True)) == [
        "registered",
        "issued",
        "marked_missing",
        "returned",
    ]
    assert first_broken(item.organisation_id) is None


def test_the_machine_itself_may_be_the_actor(item: Item, player: Player) -> None:
    assert issue(new=NewAssignment(item.id, player), stamp=stamp(item.organisation)).recorded_by_id is None


def test_what_was_handed_out_earlier_is_no_issue_but_a_fact(item: Item, player: Player, now: Stamp) -> None:
    with pytest.raises(InvalidInputError, match="already worn") as refused:
        issue(new=NewAssignment(item.id, player, issued_at=now.at - timedelta(minutes=11)), stamp=now)

    assert refused.value.faults[0].pointer == "/issued_at"
    just_now = issue(new=NewAssignment(item.id, player, issued_at=now.at - timedelta(minutes=9)), stamp=now)
    assert just_now.returned_at is None
