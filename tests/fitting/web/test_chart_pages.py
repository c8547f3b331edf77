"""Charts typed from the booklet, and a player's sizes."""

from typing import Any

import pytest
from django.test import Client

from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Player, SizeChart
from fitting.operations.measurements import NewMeasurement, record_measurement
from fitting.operations.size_charts import NewChart, add_chart
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club, GearModel, Item, Team
from tests.factories import ItemFactory, ModelFactory
from tests.fitting.web.conftest import Browse
from tests.pages import fields, links, seen

pytestmark = pytest.mark.django_db
TEXT = "size,measure,from,to,unit\nM,head,54.6,57.5,cm\nL,head,57.5,61,cm"


@pytest.fixture
def model(item: Item) -> GearModel:
    return item.model


def enter(browser: Client, model: GearModel, text: str, **more: str) -> Any:
    address = f"/charts/{model.id}/"
    return browser.post(address, fields(browser.get(address)) | {"csv": text} | more)


def test_a_chart_is_typed_and_shown_in_the_readers_units(browser: Client, model: GearModel) -> None:
    assert "no chart yet" in seen(browser.get("/charts/"))
    answer = enter(browser, model, TEXT, stated_in="booklet, page 4")
    shown = seen(browser.get(answer["Location"]))

    assert (answer.status_code, SizeChart.objects.get().revision) == (303, 1)
    assert "M round the head 21 1/2 in 22 5/8 in" in shown
    assert "booklet, page 4" in shown
    assert "no chart yet" not in seen(browser.get("/charts/"))


def test_a_gap_is_refused_with_its_row_and_what_was_typed_stays(browser: Client, model: GearModel) -> None:
    refused = enter(browser, model, TEXT.replace("57.5,61", "58,61"))
    assert (refused.status_code, SizeChart.objects.count()) == (400, 0)
    assert "Row 2: between 575 and 580 mm there is no size" in seen(refused)
    assert "58,61" in fields(refused)["csv"]


def test_the_same_form_sent_twice_makes_one_revision(browser: Client, model: GearModel) -> None:
    address = f"/charts/{model.id}/"
    form = fields(browser.get(address)) | {"csv": TEXT}
    assert [browser.post(address, form).status_code for _ in range(2)] == [303, 303]
    assert SizeChart.objects.count() == 1


def test_a_coach_reads_charts_and_enters_none(browse: Browse, team: Team, model: GearModel) -> None:
    client = browse(Role.COACH, team)
    assert fields(client.get(f"/charts/{model.id}/")) == {}
    assert client.post(f"/charts/{model.id}/", {"csv": TEXT}).status_code == 403


def test_a_players_sizes_are_told_for_every_model_in_the_room(
    browser: Client, browse: Browse, player: Player, model: GearModel, team: Team, now: Stamp
) -> None:
    ItemFactory.create(club=player.club)
    add_chart(new=NewChart(model, csv=TEXT), stamp=now)
    head = NewMeasurement(player, MeasurementKind.HEAD_CIRCUMFERENCE, [561, 562])
    record_measurement(new=head, stamp=now)
    for client in (browser, browse(Role.COACH, team)):
        shown = seen(client.get(f"/players/{player.id}/sizes/"))
        assert "Size M: likely." in shown
        assert "No chart of this model has been entered yet." in shown
        assert "561" not in shown
        assert "22 1" not in shown


@pytest.mark.parametrize(("head", "word"), [(480, "smaller"), (650, "larger")])
def test_a_chart_with_no_row_for_a_player_says_on_which_side(
    browser: Client, player: Player, model: GearModel, now: Stamp, head: int, word: str
) -> None:
    add_chart(new=NewChart(model, csv=TEXT), stamp=now)
    readings = NewMeasurement(player, MeasurementKind.HEAD_CIRCUMFERENCE, [head, head + 1])
    record_measurement(new=readings, stamp=now)
    shown = seen(browser.get(f"/players/{player.id}/sizes/"))
    assert f"Outside this chart: {word} than its sizes." in shown
    assert str(head) not in shown


def test_an_empty_room_says_what_comes_next(browser: Client, player: Player) -> None:
    assert "The room is empty" in seen(browser.get(f"/players/{player.id}/sizes/"))


def test_pads_that_go_by_weight_ask_for_it_and_keep_none(
    browser: Client, player: Player, club: Club, now: Stamp
) -> None:
    pads = ModelFactory.create(manufacturer__organisation=club.organisation, kind=Kind.SHOULDER_PADS)
    ItemFactory.create(club=club, model=pads)
    text = "size,measure,from,to,unit\nM,chest,80,100,cm\nM,weight,40,60,kg"
    add_chart(new=NewChart(pads, csv=text), stamp=now)
    record_measurement(new=NewMeasurement(player, MeasurementKind.CHEST_CIRCUMFERENCE, [900, 902]), stamp=now)
    address = f"/players/{player.id}/sizes/"
    assert "ask for it" in seen(browser.get(address))
    heavy = browser.post(address, {"weight": "90", "unit": "kg"})

    assert (heavy.status_code, "No size of this chart goes" in seen(heavy)) == (200, True)
    assert "Size M: likely." in seen(browser.post(address, {"weight": "110", "unit": "lb"}))
    assert browser.post(address, {"weight": "much", "unit": "kg"}).status_code == 400


def test_the_way_to_the_sizes_and_the_measurements_is_on_the_players_page(browser: Client, player: Player) -> None:
    there = links(browser.get(f"/players/{player.id}/"))
    assert there["Sizes"] == f"/players/{player.id}/sizes/"
    assert there["Measurements"] == f"/players/{player.id}/measurements/"
