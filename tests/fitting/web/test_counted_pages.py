"""Gear by number on the pages: all kinds in one form, taken back line by line, each once."""

import pytest
from django.test import Client

from fitting.domain.counted_gear import CountedKind
from fitting.models import CountedGear, CountedReturn, Player
from fitting.operations.counted_gear import NewCounted, hand_out_counted
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Hold, Item, Season, Team
from tests.factories import SEASON_BEGINS, PlayerFactory, put_on
from tests.fitting.web.conftest import Browse
from tests.pages import fields, links, seen

pytestmark = pytest.mark.django_db


def counted(player: Player) -> dict[str, tuple[int, str]]:
    return {line.kind: (line.count, line.size) for line in CountedGear.objects.filter(player=player)}


def test_every_kind_stands_ticked_with_one_and_what_is_unticked_is_not_handed_out(
    browser: Client, player: Player
) -> None:
    address = f"/players/{player.id}/counted/"
    form = fields(browser.get(address))
    assert {form[f"{kind}-count"] for kind in CountedKind} == {"1"}
    del form["girdle-taken"], form["leg_pads-taken"]
    answer = browser.post(address, form | {"jersey-count": "2", "jersey-size": "L"})

    assert (answer.status_code, answer["Location"]) == (303, f"/players/{player.id}/receipt/")
    assert counted(player) == {"pants": (1, ""), "jersey": (2, "L"), "mouthguard": (1, "")}
    again = fields(browser.get(address))
    assert ("jersey-taken" in again, "girdle-taken" in again, again["jersey-size"]) == (False, True, "L")
    # A mouthguard is not taken back, so nobody has it out; but one was given for this season.
    assert "mouthguard-taken" not in again


def test_sent_twice_it_is_handed_out_once(browser: Client, player: Player) -> None:
    address = f"/players/{player.id}/counted/"
    form = fields(browser.get(address))
    assert [browser.post(address, form).status_code for _ in range(2)] == [303, 303]
    assert CountedGear.objects.count() == len(CountedKind)


@pytest.mark.parametrize("count", ["", "-1", "0", "21", "two"])
def test_a_number_that_nobody_means_is_refused_with_what_was_typed(browser: Client, player: Player, count: str) -> None:
    address = f"/players/{player.id}/counted/"
    form = fields(browser.get(address)) | {"jersey-count": count, "pants-size": "XL"}
    answer = browser.post(address, form)

    assert (answer.status_code, fields(answer)["pants-size"]) == (400, "XL")
    assert not CountedGear.objects.exists()


def test_nothing_ticked_is_refused_in_words(browser: Client, player: Player) -> None:
    address = f"/players/{player.id}/counted/"
    answer = browser.post(address, {"id": fields(browser.get(address))["id"]})
    assert (answer.status_code, "Tick what is handed out." in seen(answer)) == (400, True)


def test_it_comes_back_in_part_once_and_what_is_lost_is_said_so(browser: Client, player: Player, now: Stamp) -> None:
    new = [NewCounted(player, CountedKind.JERSEY, 2, size="M"), NewCounted(player, CountedKind.PANTS)]
    jersey, pants = hand_out_counted(new=new, stamp=now, places=["", ""])
    address = f"/players/{player.id}/give-back/"
    form = fields(browser.get(address))
    form |= {f"{jersey.id}-count": "1", f"{jersey.id}-condition": "torn", f"{pants.id}-lost": "on"}
    assert [browser.post(address, form).status_code for _ in range(2)] == [303, 303]
    jersey.refresh_from_db()
    pants.refresh_from_db()

    assert ((jersey.given_back, jersey.lost), (pants.given_back, pants.lost)) == ((1, 0), (0, 1))
    assert CountedReturn.objects.get(counted_gear=jersey).condition == "torn"
    shown = browser.get(address)
    assert ("Jersey , size M" in seen(shown), "Pants" in seen(shown)) == (True, False)


def test_more_back_than_out_is_a_409_and_nothing_is_taken_back(browser: Client, player: Player, now: Stamp) -> None:
    [line] = hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY)], stamp=now)
    address = f"/players/{player.id}/give-back/"
    answer = browser.post(address, fields(browser.get(address)) | {f"{line.id}-count": "2"})

    assert (answer.status_code, "no more can come back" in seen(answer)) == (409, True)
    assert not CountedReturn.objects.exists()


def test_another_players_line_is_not_taken_back_here(browser: Client, player: Player, now: Stamp) -> None:
    other = PlayerFactory.create(club=player.club)
    [line] = hand_out_counted(new=[NewCounted(other, CountedKind.JERSEY)], stamp=now)
    hand_out_counted(new=[NewCounted(player, CountedKind.PANTS)], stamp=now)
    address = f"/players/{player.id}/give-back/"
    form = fields(browser.get(address))
    sent = {"id": form["id"], f"{line.id}-taken": "on", f"{line.id}-count": "1"}
    assert browser.post(address, sent).status_code == 400
    assert not CountedReturn.objects.exists()


def test_a_helmet_taken_back_without_its_jaw_pad_is_stopped(browser: Client, player: Player, item: Item) -> None:
    put_on(item, player)
    address = f"/gear/{item.id}/take-back/"
    form = fields(browser.get(address))
    assert browser.post(address, form | {"missing": ["jaw_pad", "bag"]}).status_code == 303
    assert Hold.objects.get(item=item).reason == "Came back without: jaw pad."
    assert "without jaw pad, bag" in seen(browser.get(f"/players/{player.id}/"))
    assert browser.post(address, form | {"missing": ["wheel"]}).status_code in {303, 400}


def test_what_is_out_is_listed_by_team_with_since_when_and_as_a_file(
    browser: Client, club: Club, team: Team, player: Player, item: Item, now: Stamp
) -> None:
    put_on(item, player)
    hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY, 2, condition_at_issue="=1+1")], stamp=now)
    PlayerFactory.create(club=club, team=team)
    page = browser.get(f"/out/?team={team.id}")

    assert "3 pieces are out on Oct. 14, 2026 (players who have something: 1)." in seen(page)
    assert ("2 \u00d7 jersey" in seen(page), item.serial in seen(page), "has nothing" in seen(page)) == (
        True,
        True,
        True,
    )
    Season.objects.filter(club=club).update(ends_on=SEASON_BEGINS)
    assert "has nothing" not in seen(browser.get(f"/out/?team={club.id}&only=out"))
    text = browser.get(links(page)["As a file for a spreadsheet"]).content.decode()
    assert f"{team.name},,{player.given_name},{player.family_name},helmet,{item.serial}" in text
    assert ",2,2026-10-14,'=1+1" in text


def test_who_lacks_gear_that_protects_is_named_on_the_list_today_and_on_the_sheet(
    browser: Client, browse: Browse, team: Team, player: Player, item: Item
) -> None:
    assert "1 player without helmet; 1 player without shoulder pads." in seen(browser.get("/"))
    put_on(item, player)
    assert "1 player without shoulder pads." in seen(browser.get("/"))
    assert "Lacks: shoulder pads" in seen(browser.get(f"/out/?team={team.id}"))
    sheet = seen(browse(Role.COACH, team).get(f"/game-morning/?team={team.id}"))
    assert f"{player.given_name} {player.family_name} : no shoulder pads" in sheet


def test_many_who_lack_the_same_are_one_line_of_the_sheet(browser: Client, club: Club, team: Team) -> None:
    many = [PlayerFactory.create(club=club, team=team) for _ in range(5)]
    sheet = seen(browser.get(f"/game-morning/?team={team.id}"))
    assert "5 players : no helmet, no shoulder pads" in sheet
    assert all(player.family_name in sheet and player.given_name not in sheet for player in many)


def test_after_the_last_game_the_days_page_says_how_much_is_out(browser: Client, player: Player, item: Item) -> None:
    put_on(item, player)
    player.club.seasons.update(starts_on="2026-08-01", ends_on="2026-10-13")
    shown = seen(browser.get("/"))
    assert "1 piece is still out." in shown
    assert "without shoulder pads" not in shown


def test_a_coach_reads_the_own_teams_list_and_hands_nothing_out(
    browse: Browse, club: Club, team: Team, player: Player
) -> None:
    other = PlayerFactory.create(club=club)
    coach = browse(Role.COACH, team)
    listed = seen(coach.get("/out/"))
    assert (player.family_name in listed, other.family_name in listed) == (True, False)
    assert [coach.get(f"/players/{player.id}/{page}/").status_code for page in ("counted", "give-back")] == [403, 403]
    assert coach.post(f"/players/{player.id}/counted/", {"jersey-taken": "on"}).status_code == 403
