"""A person's data on pages: the file that is given out, and the removal with what goes and what stays."""

import json

import pytest
from django.test import Client

from fitting.models import MeasurementRead, Player
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from tests.factories import fitted, measured, put_on
from tests.fitting.web.conftest import Browse
from tests.pages import forms, links, seen

pytestmark = pytest.mark.django_db


def there(player: Player, word: str) -> str:
    return f"/players/{player.id}/{word}/"


def test_the_player_s_page_leads_to_both(browser: Client, player: Player) -> None:
    found = links(browser.get(f"/players/{player.id}/"))
    assert found["Export what is recorded of this person"] == there(player, "export")
    assert found["Remove the person"] == there(player, "remove")


def test_the_file_holds_everything_names_nobody_and_is_kept_by_no_cache(browser: Client, player: Player) -> None:
    measured(player)
    assert "It is written down that you had it." in seen(browser.get(there(player, "export")))
    assert not MeasurementRead.objects.filter(player=player).exists()
    answer = browser.post(there(player, "export"))
    assert answer["Content-Disposition"] == f'attachment; filename="player-{player.id}.json"'
    assert "no-store" in answer["Cache-Control"]
    assert json.loads(answer.content)["measurements"][0]["readings_mm"] == [559, 561]
    assert MeasurementRead.objects.get(player=player).why == "page export"


def test_before_the_removal_it_is_said_what_goes_and_what_stays(browser: Client, player: Player, item: Item) -> None:
    measured(player)
    fitted(item, player)
    words = seen(browser.get(there(player, "remove")))
    assert "This cannot be undone." in words
    assert "1 measurement" in words.split("What stays")[0]
    assert "1 fitting, check by check" in words.split("What stays")[1]
    assert "559" not in words


def test_it_is_done_once_and_says_so(browser: Client, player: Player) -> None:
    page = browser.get(there(player, "remove"))
    sent = [browser.post(there(player, "remove"), forms(page)[-1].fields).status_code for _ in range(2)]
    assert sent == [303, 303]
    label = Player.objects.get(id=player.id).label
    words = seen(browser.get(f"/players/{player.id}/"))
    assert "The person was removed on" in words
    assert "Haircut" not in words
    assert "Hand out gear by number" not in words
    assert label.split()[1] in words
    assert player.family_name not in words
    assert player.family_name not in seen(browser.get("/players/"))
    assert label.split()[1] not in seen(browser.get("/players/"))
    assert "This person was removed already." in seen(browser.get(there(player, "remove")))


def test_while_gear_is_out_it_says_the_way_out_and_has_no_button(browser: Client, player: Player, item: Item) -> None:
    put_on(item, player)
    page = browser.get(there(player, "remove"))
    assert "take it back first" in seen(page)
    assert not [form for form in forms(page) if form.action == "" and form.method == "post"]
    refused = browser.post(there(player, "remove"))
    assert refused.status_code == 409
    assert Player.objects.get(id=player.id).removed_at is None


def test_neither_coach_nor_auditor_does_either(browse: Browse, club: Club, team: Team, player: Player) -> None:
    measured(player)
    for client in (browse(Role.COACH, team), browse(Role.AUDITOR, club.organisation)):
        assert [client.get(there(player, word)).status_code for word in ("export", "remove")] == [403, 403]
        assert [client.post(there(player, word)).status_code for word in ("export", "remove")] == [403, 403]
    assert not MeasurementRead.objects.filter(player=player).exists()
