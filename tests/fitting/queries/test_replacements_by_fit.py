"""What could replace a worn item, ranked by what the charts give whoever wears it."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Player
from fitting.operations.measurements import NewMeasurement, record_measurement
from fitting.operations.size_charts import NewChart, add_chart
from fitting.queries.last_settings import set_with
from fitting.queries.replacements import replacements_for
from gearlife.domain.access import Stamp
from gearlife.models import Club, GearModel, Item, Team
from tests.factories import AT, DAY, ItemFactory, ModelFactory, PlayerFactory, fitted, pads, put_on

pytestmark = pytest.mark.django_db
CHART = "size,measure,from,to,unit\nS,head,51,54.5,cm\nM,head,54.5,57.5,cm\nL,head,57.5,61,cm"


@pytest.fixture
def charted(item: Item, now: Stamp) -> GearModel:
    """Another model, with a chart."""
    model = ModelFactory.create(manufacturer__organisation=item.club.organisation)
    add_chart(new=NewChart(model, csv=CHART), stamp=now)
    return model


def measure(player: Player, now: Stamp, *readings: float) -> None:
    new = NewMeasurement(player, MeasurementKind.HEAD_CIRCUMFERENCE, list(readings))
    record_measurement(new=new, stamp=now)


def offered(item: Item) -> list[dict[str, Any]]:
    return replacements_for(item, among=Item.objects.filter(club=item.club), day=DAY)


def test_the_likely_size_of_another_model_comes_before_the_same_letter(
    item: Item, player: Player, charted: GearModel, now: Stamp
) -> None:
    put_on(item, player)
    measure(player, now, 590, 591)
    same_letter = ItemFactory.create(club=item.club, model=charted, size="M")
    likely = ItemFactory.create(club=item.club, model=charted, size="L")
    untold = ItemFactory.create(club=item.club, size="L")
    rows = offered(item)

    assert [row["item"] for row in rows] == [likely.id, untold.id, same_letter.id]
    assert "size L is likely for this player" in rows[0]["why"]
    assert "unlikely for this player; L is nearer" in rows[2]["why"]
    assert not any("59" in row["why"] for row in rows)


def test_a_model_whose_fit_was_accepted_comes_first_of_those_that_are_likely(
    item: Item, player: Player, charted: GearModel, now: Stamp
) -> None:
    sat = ItemFactory.create(club=item.club, size="L", made_on="2025-08")
    fitted(sat, player)
    add_chart(new=NewChart(sat.model, csv=CHART), stamp=now)
    put_on(item, player)
    measure(player, now, 590, 591)
    other = ItemFactory.create(club=item.club, model=charted, size="L")
    rows = offered(item)

    assert [row["item"] for row in rows] == [sat.id, other.id]
    assert "was accepted before" in rows[0]["why"]
    assert "was accepted before" not in rows[1]["why"]


def test_whoever_is_not_measured_gets_the_order_of_old(item: Item, player: Player, charted: GearModel) -> None:
    put_on(item, player)
    same_letter = ItemFactory.create(club=item.club, model=charted, size="M")
    other = ItemFactory.create(club=item.club, model=charted, size="L")

    assert [row["item"] for row in offered(item)] == [same_letter.id, other.id]
    assert not any("By its chart" in row["why"] for row in offered(item))


def test_it_takes_as_many_queries_for_many_models_as_for_one(
    item: Item, player: Player, charted: GearModel, now: Stamp
) -> None:
    put_on(item, player)
    measure(player, now, 590, 591)
    ItemFactory.create(club=item.club, model=charted, size="L")
    with CaptureQueriesContext(connection) as one:
        offered(item)
    for _ in range(4):
        model = ModelFactory.create(manufacturer__organisation=item.club.organisation)
        add_chart(new=NewChart(model, csv=CHART), stamp=now)
        ItemFactory.create(club=item.club, model=model, size="L")
    with CaptureQueriesContext(connection) as five:
        offered(item)

    assert len(five) == len(one)


def test_a_model_made_for_other_positions_and_a_chart_that_goes_by_weight_are_said(
    club: Club, team: Team, now: Stamp
) -> None:
    worn, player = pads(club), PlayerFactory.create(club=club, team=team, position="Kicker")
    put_on(worn, player)
    spare = pads(club, made_on="2026-03")
    rows = "size,measure,from,to,unit\nM,chest,80,100,cm\nM,weight,40,70,kg"
    add_chart(new=NewChart(spare.model, csv=rows, positions=["lineman", "linebacker"]), stamp=now)
    [row] = offered(worn)

    assert "Made for lineman, linebacker, not for the player's position (Kicker)." in row["why"]
    assert "The chart goes by weight too: ask for it." in row["why"]
    Player.objects.filter(id=player.id).update(position=" LINEMAN ")
    assert "Made for" not in offered(worn)[0]["why"]


def test_how_the_model_was_set_on_the_player_is_told_by_model_and_the_last_fit_counts(
    item: Item, player: Player, charted: GearModel
) -> None:
    put_on(item, player)
    other = ItemFactory.create(club=item.club, model=charted)
    fitted(other, player, pads_and_air="thin front", at=AT - timedelta(days=300))
    fitted(other, player, pads_and_air="thick front, two strokes of air", at=AT - timedelta(days=20))
    fitted(other, player, failing=["jaw_pads_firm"], pads_and_air="no front", at=AT - timedelta(days=10))
    fitted(other, PlayerFactory.create(club=item.club), pads_and_air="another's", at=AT - timedelta(days=5))

    assert set_with(item, [charted.id, item.model_id]) == {charted.id: "thick front, two strokes of air"}
