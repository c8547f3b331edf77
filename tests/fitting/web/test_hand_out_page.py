"""Handing out on a page: what the gate says before, every reason when refused, and one act however often it is sent."""

from datetime import timedelta

import pytest
from django.test import Client

from fitting.domain.vocabulary import RecordedAs
from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role, Whereabouts
from gearlife.models import Club, Item, Team
from gearlife.operations import holds
from tests import factories
from tests.factories import AT, ItemFactory, PlayerFactory
from tests.fitting.web.conftest import Browse
from tests.pages import fields, forms, links, seen

pytestmark = pytest.mark.django_db


def address(item: Item, player: Player | None = None) -> str:
    return f"/gear/{item.id}/hand-out/" + (f"?player={player.id}" if player else "")


def test_it_is_handed_out_to_the_player_chosen(browser: Client, item: Item, player: Player) -> None:
    answer = browser.post(address(item), fields(browser.get(address(item, player))) | {"condition": "new strap"})
    assert (answer.status_code, answer["Location"]) == (303, f"/players/{player.id}/")
    made = Assignment.objects.get()
    assert (made.item, made.player, made.condition_at_issue) == (item, player, "new strap")
    assert f"Handed out to {player.label}: {item.label}." in seen(browser.get(answer["Location"]))


def test_a_double_tap_hands_it_out_once(browser: Client, item: Item, player: Player) -> None:
    form = fields(browser.get(address(item, player)))
    answers = [browser.post(address(item), form) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert str(Assignment.objects.get().id) == form["id"]


def test_players_are_found_by_number_or_by_part_of_the_name(browser: Client, item: Item, club: Club) -> None:
    PlayerFactory.create(club=club, given_name="Ada", family_name="Northfield", jersey_number=54)
    PlayerFactory.create(club=club, given_name="Ben", family_name="Southgate", jersey_number=5)
    found = seen(browser.get(address(item), {"q": "54"}))
    assert "Ada Northfield" in found
    assert "Ben Southgate" not in found
    assert "Ben Southgate" in seen(browser.get(address(item), {"q": "south ben"}))
    assert "Nobody has this number or name" in seen(browser.get(address(item), {"q": "99"}))


def test_what_speaks_against_it_is_said_before_and_no_form_hands_it_out(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    holds.hold(new=holds.NewHold(item.id, "Crack at the ear hole."), stamp=now)
    page = browser.get(address(item, player))
    assert "It may not be handed out" in seen(page)
    assert "Crack at the ear hole." in seen(page)
    assert [form.fields["way"] for form in forms(page) if form.method == "post" and "way" in form.fields] == ["worn"]


def test_a_refusal_names_every_reason_and_keeps_what_was_typed(
    browser: Client, item: Item, player: Player, club: Club, now: Stamp
) -> None:
    form = fields(browser.get(address(item, player))) | {"condition": "scratched"}
    issue(new=NewAssignment(ItemFactory.create(club=club).id, player), stamp=now)
    holds.hold(new=holds.NewHold(item.id, "Crack at the ear hole."), stamp=now)
    answer = browser.post(address(item, player), form)
    assert answer.status_code == 409
    assert "Crack at the ear hole." in seen(answer)
    assert "This player has a helmet already" in seen(answer)
    assert not Assignment.objects.filter(item=item).exists()


def test_without_a_look_today_it_asks_for_one_and_hands_it_out_all_the_same(
    browser: Client, item: Item, player: Player
) -> None:
    page = browser.get(address(item, player))
    assert "Nobody has looked it over today." in seen(page)
    assert browser.post(address(item), fields(page)).status_code == 303


def test_the_one_already_worn_is_taken_back_where_that_was_chosen(
    browser: Client, item: Item, player: Player, club: Club, now: Stamp
) -> None:
    old = issue(new=NewAssignment(ItemFactory.create(club=club).id, player), stamp=now)
    page = browser.get(address(item, player))
    assert f"In its place: {old.item.label} is taken back in the same act" in seen(page)
    assert browser.post(address(item), fields(page)).status_code == 409
    assert browser.post(address(item), fields(page) | {"id": str(uuid7()), "instead": str(old.id)}).status_code == 303
    old.refresh_from_db()
    assert old.returned_at == AT
    assert Assignment.objects.open().get().replaces_id == old.id


def test_one_may_be_lent_beside_the_players_own(
    browser: Client, item: Item, player: Player, club: Club, now: Stamp
) -> None:
    issue(new=NewAssignment(ItemFactory.create(club=club).id, player), stamp=now)
    browser.post(address(item), fields(browser.get(address(item, player))) | {"instead": "loan"})
    assert Assignment.objects.open().filter(item=item, loan=True).exists()


def test_what_is_worn_already_is_recorded_past_the_gate_since_its_day(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    holds.hold(new=holds.NewHold(item.id, "Loose rivet."), stamp=now)
    [form] = [form for form in forms(browser.get(address(item, player))) if form.fields.get("way") == "worn"]
    answer = browser.post(address(item), form.fields | {"since": "2026-10-01"})
    assert answer.status_code == 303
    made = Assignment.objects.get()
    assert (made.recorded_as, made.could_not_be_issued) == (RecordedAs.ALREADY_WORN, True)
    # Midnight on 1 October in Chicago, which is five hours behind UTC by summer time.
    assert made.issued_at.isoformat() == "2026-10-01T05:00:00+00:00"


def test_a_day_that_is_none_is_refused_with_the_way_to_write_one(browser: Client, item: Item, player: Player) -> None:
    form = fields(browser.get(address(item, player))) | {"way": "worn", "since": "last week"}
    answer = browser.post(address(item), form)
    assert answer.status_code == 400
    assert "2026-09-14" in seen(answer)


def test_one_that_another_player_has_is_taken_back_first(
    browser: Client, item: Item, player: Player, club: Club, now: Stamp
) -> None:
    other = PlayerFactory.create(club=club, jersey_number=7, family_name="Otherman")
    issue(new=NewAssignment(item.id, other), stamp=now)
    page = browser.get(address(item, player))
    assert "It is with 7 Otherman" in seen(page)
    assert links(page)["Take it back"] == f"/gear/{item.id}/take-back/"


@pytest.mark.parametrize("role", [Role.COACH, Role.AUDITOR, Role.DAMAGE_REPORTER])
def test_who_does_not_act_does_not_open_it(browse: Browse, club: Club, team: Team, item: Item, role: Role) -> None:
    at = team if role is Role.COACH else club.organisation
    assert browse(role, at).get(address(item)).status_code == 403


def test_another_organisation_finds_nothing(browse: Browse, item: Item, player: Player) -> None:
    stranger = browse(Role.ADMINISTRATOR, factories.OrganisationFactory.create())
    assert stranger.get(address(item)).status_code == 404
    assert stranger.post(address(item), {"id": str(uuid7()), "player": str(player.id)}).status_code == 404


def test_a_player_of_another_organisation_is_not_found(browser: Client, item: Item) -> None:
    foreign = PlayerFactory.create()
    assert browser.get(address(item, foreign)).status_code == 404
    form = {"id": str(uuid7()), "player": str(foreign.id)}
    assert browser.post(address(item), form).status_code == 404
    assert not Assignment.objects.exists()


def test_an_officer_of_another_club_does_not_hand_this_clubs_out(
    browse: Browse, item: Item, player: Player, club: Club
) -> None:
    other = factories.ClubFactory.create(organisation=club.organisation)
    assert browse(Role.OFFICER, other).get(address(item, player)).status_code == 404


def test_it_says_in_the_future_of_a_day_to_come(browser: Client, item: Item, player: Player) -> None:
    day = (AT + timedelta(days=3)).date()
    form = fields(browser.get(address(item, player))) | {"way": "worn", "since": day.isoformat()}
    answer = browser.post(address(item), form)
    assert answer.status_code == 400
    assert "This lies in the future" in seen(answer)
    item.refresh_from_db()
    assert item.whereabouts == Whereabouts.STOCK
