"""Players on pages: by team and number with what they wear, the black tag, and what may change."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from django.test import Client

from fitting.models import Player
from fitting.operations.assignments import NewAssignment, issue, return_item
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club, Item, Team
from gearlife.operations import holds
from tests import factories
from tests.factories import ItemFactory, PlayerFactory, TeamFactory, pads
from tests.fitting.web.conftest import Browse
from tests.pages import fields, links, seen

pytestmark = pytest.mark.django_db
MaxQueries = Callable[[int], AbstractContextManager[Any]]


def test_the_list_stands_by_team_and_number_with_helmet_and_pads(
    browser: Client, club: Club, team: Team, item: Item, now: Stamp
) -> None:
    late = PlayerFactory.create(club=club, team=team, jersey_number=88, family_name="Late")
    early = PlayerFactory.create(club=club, team=team, jersey_number=9, family_name="Early")
    issue(new=NewAssignment(item.id, early), stamp=now)
    issue(new=NewAssignment(pads(club).id, early), stamp=now)
    words = seen(browser.get("/players/"))
    assert words.index("Early") < words.index("Late")
    assert item.serial in words
    assert words.count("Has no helmet") == 1
    assert late.given_name in words
    assert "2 players." in words


def test_a_helmet_that_must_not_be_worn_has_its_black_tag_and_the_way_to_replace_it(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    holds.hold(new=holds.NewHold(item.id, "Crack above the left ear."), stamp=now)
    page = browser.get("/players/")
    assert b'class="tag-out"' in page.content
    assert "Crack above the left ear." in seen(page)
    assert links(page)["Replace helmet"] == f"/gear/{item.id}/replace/"


def test_filters_stand_in_the_address(browser: Client, club: Club, team: Team, item: Item, now: Stamp) -> None:
    other = TeamFactory.create(club=club)
    one = PlayerFactory.create(club=club, team=team, jersey_number=5, family_name="Firstman")
    PlayerFactory.create(club=club, team=other, jersey_number=6, family_name="Secondman")
    issue(new=NewAssignment(item.id, one), stamp=now)
    assert "Secondman" not in seen(browser.get("/players/", {"team": str(team.id)}))
    assert "Firstman" not in seen(browser.get("/players/", {"without": "helmet"}))
    assert "Secondman" in seen(browser.get("/players/", {"without": "helmet"}))
    assert "Secondman" in seen(browser.get("/players/", {"q": "6"}))
    assert "No player is like this." in seen(browser.get("/players/", {"q": "nobody"}))
    assert "No player is like this." in seen(browser.get("/players/", {"team": "no-id"}))


def test_an_empty_list_says_what_comes_next(browser: Client) -> None:
    page = browser.get("/players/")
    assert "There are no players yet." in seen(page)
    assert links(page)["Add a player"] == "/players/new/"


@pytest.mark.parametrize("count", [3, 60])
def test_the_list_asks_as_much_for_three_players_as_for_sixty(
    browser: Client, club: Club, team: Team, now: Stamp, count: int, django_assert_max_num_queries: MaxQueries
) -> None:
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    for _ in range(count):
        helmet = ItemFactory.create(club=club, model=model)
        issue(new=NewAssignment(helmet.id, PlayerFactory.create(club=club, team=team)), stamp=now)
    browser.get("/players/")
    with django_assert_max_num_queries(26):
        assert f"{count} players." in seen(browser.get("/players/"))


def test_long_lists_have_pages_that_keep_the_filter(browser: Client, club: Club, team: Team) -> None:
    for number in range(61):
        PlayerFactory.create(club=club, team=team, jersey_number=number)
    page = browser.get("/players/", {"team": str(team.id)})
    assert "Page 1 of 2" in seen(page)
    second = browser.get("/players/" + links(page)["Next page"])
    assert seen(second).count("Has no helmet") == 1
    assert links(second)["Page before"] == f"?team={team.id}&page=1"


def test_a_player_has_current_and_earlier_items(
    browser: Client, item: Item, player: Player, club: Club, now: Stamp
) -> None:
    old = issue(new=NewAssignment(item.id, player), stamp=now)
    return_item(assignment=old, at=None, condition="scratched", stamp=now)
    new = ItemFactory.create(club=club)
    issue(new=NewAssignment(new.id, player), stamp=now)
    page = browser.get(f"/players/{player.id}/")
    words = seen(page)
    assert words.index(new.serial) < words.index("Had before") < words.index(item.serial)
    assert "scratched" in words
    assert "No shoulder pads" in words
    assert links(page)["Take back"] == f"/gear/{new.id}/take-back/"


def test_stock_for_a_player_is_what_the_gate_lets_out_found_by_size_serial_or_model(
    browser: Client, item: Item, player: Player, club: Club, now: Stamp
) -> None:
    large = ItemFactory.create(club=club, model=item.model, size="XL")
    held = ItemFactory.create(club=club, model=item.model)
    holds.hold(new=holds.NewHold(held.id, "Loose rivet."), stamp=now)
    where = f"/players/{player.id}/hand-out/"
    words = seen(browser.get(where))
    assert item.serial in words
    assert held.serial not in words
    assert large.serial in seen(browser.get(where, {"q": "xl"}))
    assert item.serial not in seen(browser.get(where, {"q": "xl"}))
    assert item.serial in seen(browser.get(where, {"q": item.serial[-3:]}))
    assert "Nothing that may be handed out is like this." in seen(browser.get(where, {"q": "zzz"}))
    assert "nothing of this kind" in seen(browser.get(where, {"kind": Kind.SHOULDER_PADS}))
    assert links(browser.get(where, {"q": "xl"}))["This one"] == f"/gear/{large.id}/hand-out/?player={player.id}"


def test_a_player_is_added_once_however_often_the_form_is_sent(browser: Client, team: Team) -> None:
    form = fields(browser.get("/players/new/"))
    form |= {"given_name": "Ada", "family_name": "Northfield", "jersey_number": "0", "team": str(team.id)}
    assert [browser.post("/players/new/", form).status_code for _ in range(2)] == [303, 303]
    made = Player.objects.get()
    assert (made.team, made.jersey_number, made.family_name) == (team, 0, "Northfield")


def test_what_is_wrong_with_a_new_player_is_said_by_its_field(browser: Client, team: Team) -> None:
    form = fields(browser.get("/players/new/")) | {"given_name": "Ada", "jersey_number": "100", "team": str(team.id)}
    answer = browser.post("/players/new/", form)
    assert answer.status_code == 400
    assert "Number: Ensure this value is less than or equal to 99." in seen(answer)
    assert "Family name: This field is required." in seen(answer)
    assert fields(answer)["given_name"] == "Ada"


def test_a_change_moves_what_the_player_wears_into_the_new_teams_sight(
    browser: Client, club: Club, item: Item, player: Player, now: Stamp
) -> None:
    issue(new=NewAssignment(item.id, player), stamp=now)
    other = TeamFactory.create(club=club)
    form = fields(browser.get(f"/players/{player.id}/change/")) | {"team": str(other.id), "jersey_number": "12"}
    assert browser.post(f"/players/{player.id}/change/", form).status_code == 303
    player.refresh_from_db()
    item.refresh_from_db()
    assert (player.team, player.jersey_number, item.team) == (other, 12, other)


def test_a_change_from_an_old_form_is_refused(browser: Client, player: Player) -> None:
    form = fields(browser.get(f"/players/{player.id}/change/"))
    browser.post(f"/players/{player.id}/change/", form | {"jersey_number": "12"})
    answer = browser.post(f"/players/{player.id}/change/", form | {"jersey_number": "13"})
    assert answer.status_code == 409
    assert "Somebody has changed this player meanwhile" in seen(answer)
    player.refresh_from_db()
    assert player.jersey_number == 12


def test_a_team_of_another_organisation_is_no_choice(browser: Client) -> None:
    foreign = TeamFactory.create()
    form = fields(browser.get("/players/new/")) | {"given_name": "A", "family_name": "B", "team": str(foreign.id)}
    assert browser.post("/players/new/", form).status_code == 400
    assert not Player.objects.exists()


def test_a_coach_sees_the_own_team_alone_and_no_act(browse: Browse, club: Club, team: Team, player: Player) -> None:
    other = PlayerFactory.create(club=club, team=TeamFactory.create(club=club))
    coach = browse(Role.COACH, team)
    page = coach.get("/players/")
    assert player.family_name in seen(page)
    assert other.family_name not in seen(page)
    assert "Hand out a helmet" not in seen(page)
    assert coach.get(f"/players/{player.id}/").status_code == 200
    assert coach.get(f"/players/{other.id}/").status_code == 404
    for act in ("change", "hand-out"):
        assert coach.get(f"/players/{player.id}/{act}/").status_code == 403


def test_another_organisation_sees_nobody(browse: Browse, player: Player) -> None:
    stranger = browse(Role.ADMINISTRATOR, factories.OrganisationFactory.create())
    assert player.family_name not in seen(stranger.get("/players/"))
    for act in ("", "change/", "hand-out/"):
        assert stranger.get(f"/players/{player.id}/{act}").status_code == 404
