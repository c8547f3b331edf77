"""A receipt on the pages: read and acknowledged on the officer's device, or printed and acknowledged later."""

import pytest
from django.test import Client

from fitting.domain.counted_gear import CountedKind
from fitting.models import Player, Receipt
from fitting.operations.counted_gear import NewCounted, hand_out_counted
from gearlife.domain.access import Stamp
from gearlife.domain.cautions import TO_WHOEVER_WEARS_IT
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from tests.factories import put_on
from tests.fitting.web.conftest import Browse
from tests.pages import fields, seen

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(item: Item, player: Player, now: Stamp) -> str:
    put_on(item, player)
    hand_out_counted(new=[NewCounted(player, CountedKind.JERSEY, 2, size="L")], stamp=now)
    return f"/players/{player.id}/receipt/"


def test_it_shows_gear_numbers_and_cautions_and_is_acknowledged_in_one_act(
    browser: Client, address: str, item: Item
) -> None:
    page = browser.get(address)
    assert (item.serial in seen(page), "2 \u00d7 jersey" in seen(page)) == (True, True)
    assert all(caution in seen(page) for caution in TO_WHOEVER_WEARS_IT)
    assert not Receipt.objects.exists()
    form = fields(page) | {"name": "Pat Example", "signed_as": "parent"}
    answers = [browser.post(address, form) for _ in range(2)]
    kept = Receipt.objects.get()

    assert {(answer.status_code, answer["Location"]) for answer in answers} == {(303, f"/receipts/{kept.id}/")}
    shown = seen(browser.get(f"/receipts/{kept.id}/"))
    assert ("Pat Example, a parent" in shown, kept.seal in shown) == (True, True)


def test_kept_for_later_it_is_acknowledged_on_its_own_page(browser: Client, address: str) -> None:
    form = {name: value for name, value in fields(browser.get(address)).items() if name != "signed_as"}
    kept = browser.post(address, form | {"way": "later"})["Location"]
    assert Receipt.objects.get().acknowledged_at is None
    assert browser.post(kept, fields(browser.get(kept)) | {"name": "", "signed_as": "player"}).status_code == 400
    assert browser.post(kept, fields(browser.get(kept)) | {"name": "Sam", "signed_as": "player"}).status_code == 303
    assert Receipt.objects.get().acknowledged_as == "player"
    assert fields(browser.get(kept)) == {}


def test_what_was_handed_out_meanwhile_must_be_read_first(
    browser: Client, address: str, player: Player, now: Stamp
) -> None:
    form = fields(browser.get(address)) | {"name": "Sam", "signed_as": "player"}
    hand_out_counted(new=[NewCounted(player, CountedKind.PANTS)], stamp=now)
    answer = browser.post(address, form)

    assert (answer.status_code, "no longer what this receipt shows" in seen(answer)) == (409, True)
    assert not Receipt.objects.exists()


def test_nobody_is_acknowledged_without_a_name_or_a_word_who_it_is(browser: Client, address: str) -> None:
    form = fields(browser.get(address))
    for wrong in ({"name": " "}, {"name": "Sam", "signed_as": "friend"}):
        answer = browser.post(address, form | wrong)
        assert answer.status_code == 400
    assert not Receipt.objects.exists()


def test_a_player_who_has_nothing_gets_no_receipt(browser: Client, player: Player) -> None:
    page = browser.get(f"/players/{player.id}/receipt/")
    assert "nothing that a receipt could be made of" in seen(page)
    assert fields(page) == {}


def test_a_row_that_was_changed_past_the_program_says_so(browser: Client, address: str) -> None:
    browser.post(address, fields(browser.get(address)) | {"name": "Sam", "signed_as": "player"})
    kept = Receipt.objects.get()
    Receipt.objects.update(acknowledged_name="Another")
    assert "no longer what it was" in seen(browser.get(f"/receipts/{kept.id}/"))


def test_a_coach_reads_the_receipt_of_the_own_team_without_the_name(
    browser: Client, browse: Browse, club: Club, team: Team, address: str
) -> None:
    browser.post(address, fields(browser.get(address)) | {"name": "Pat Example", "signed_as": "parent"})
    kept = Receipt.objects.get()
    shown = seen(browse(Role.COACH, team).get(f"/receipts/{kept.id}/"))
    assert ("a parent" in shown, "Pat Example" in shown) == (True, False)
    assert browse(Role.COACH, team).get(address).status_code == 403
    assert "Pat Example" not in seen(browse(Role.AUDITOR, club.organisation).get(f"/receipts/{kept.id}/"))


def test_the_players_page_leads_to_the_receipt_and_lists_those_there_are(
    browser: Client, address: str, player: Player
) -> None:
    browser.post(address, fields(browser.get(address)) | {"name": "Sam", "signed_as": "player"})
    shown = browser.get(f"/players/{player.id}/")
    assert ("Receipt of" in seen(shown), "acknowledged" in seen(shown), address in shown.content.decode()) == (
        True,
        True,
        True,
    )
