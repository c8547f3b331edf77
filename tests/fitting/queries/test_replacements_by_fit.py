"""What could replace a worn item, ranked by what the charts give whoever wears it."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Player
from fitting.operations.measurements import NewMeasurement, record_measurement
from fitting.operations.size_charts import NewChart, add_chart
from fitting.queries.replacements import replacements_for
from gearlife.domain.access import Stamp
from gearlife.models import GearModel, Item
from tests.factories import DAY, ItemFactory, ModelFactory, fitted, put_on

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
