"""Size charts over the API: rows or a typed table in, sizes out; numbers only for who may see measurements."""

from typing import Any

import pytest

from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Measurement, Player, SizeChart
from fitting.operations.measurements import NewMeasurement, record_measurement
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, GearModel, Item
from tests.factories import ItemFactory, ModelFactory, PlayerFactory
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db
HELMET = "size,measure,from,to,unit\nS,head,20 1/2,21 1/2,in\nM,head,21 1/2,22 5/8,in\nL,head,22 5/8,24,in"
PADS = [
    {"size": "M", "measure": "chest_circumference", "from_mm": 860, "to_mm": 960},
    {"size": "M", "measure": "shoulder_width", "from_mm": 420, "to_mm": 460},
    {"size": "M", "measure": "body_weight", "from_kg": 40, "to_kg": 60},
    {"size": "L", "measure": "chest_circumference", "from_mm": 960, "to_mm": None},
    {"size": "L", "measure": "shoulder_width", "from_mm": 460, "to_mm": None},
]


@pytest.fixture
def model(item: Item) -> GearModel:
    return item.model


@pytest.fixture
def pads(club: Club) -> GearModel:
    return ModelFactory.create(manufacturer__organisation=club.organisation, kind=Kind.SHOULDER_PADS)


def chart(by: Caller, model: GearModel, **facts: Any) -> Any:
    return by("POST", "size-charts/", {"model": str(model.id)} | facts)


def sizes(by: Caller, player: Player, model: GearModel) -> dict[str, Any]:
    answer = by("GET", f"size-charts/sizes/?player={player.id}&model={model.id}")
    assert answer.status_code == 200, answer.content
    rows = answer.json()["results"]
    assert len(rows) == 1
    return dict(rows[0])


def measure(player: Player, now: Stamp, kind: MeasurementKind, *readings: float) -> None:
    record_measurement(new=NewMeasurement(player, kind, list(readings)), stamp=now)


def heads(player: Player, now: Stamp, *readings: float) -> None:
    measure(player, now, MeasurementKind.HEAD_CIRCUMFERENCE, *readings)


def test_a_typed_table_becomes_revisions_that_stay(officer: Caller, model: GearModel) -> None:
    first = chart(officer, model, csv=HELMET, stated_in="booklet, page 4")
    second = chart(officer, model, csv=HELMET.replace("24,in", "25,in"))

    assert (first.status_code, first.json()["revision"], second.json()["revision"]) == (201, 1, 2)
    assert first.json()["rows"][0] == {
        "size": "S",
        "measure": "head_circumference",
        "from_mm": 520.7,
        "to_mm": 546.1,
    }
    assert SizeChart.objects.newest().get().revision == 2
    assert officer("GET", f"size-charts/{first.json()['id']}/").json()["stated_in"] == "booklet, page 4"


def test_gaps_and_reversed_rows_are_refused_with_the_row_named(officer: Caller, model: GearModel) -> None:
    gap = chart(officer, model, csv=HELMET.replace("M,head,21 1/2", "M,head,21 5/8"))
    backwards = chart(officer, model, csv=HELMET.replace("20 1/2,21 1/2", "21 1/2,20 1/2"))

    assert (gap.status_code, backwards.status_code) == (400, 400)
    assert "Row 2: between 546.1 and 549.3 mm there is no size" in gap.content.decode()
    assert "Row 1: size S runs from 546.1 to 520.7 mm" in backwards.content.decode()


def test_a_fault_of_a_row_stands_at_its_place(officer: Caller, pads: GearModel) -> None:
    wrong = [dict(row) for row in PADS]
    wrong[1] |= {"from_mm": 460, "to_mm": 420}
    assert pointers(chart(officer, pads, rows=wrong)) == {"/rows/1/from_mm"}
    assert pointers(chart(officer, pads, rows=[{"size": "M", "measure": "body_weight", "from_mm": 1}])) == {
        "/rows/0/from_mm"
    }
    assert pointers(chart(officer, pads)) == {"/rows"}
    assert pointers(chart(officer, pads, rows=PADS, csv=HELMET)) == {"/rows"}


def test_each_candidate_size_has_its_probability(officer: Caller, model: GearModel, player: Player, now: Stamp) -> None:
    chart(officer, model, csv=HELMET)
    heads(player, now, 560, 561)
    found = sizes(officer, player, model)

    assert found["says"] == "Size M: likely."
    assert found["sizes"][0]["size"] == "M"
    assert found["sizes"][0]["probability"] > 0.99
    assert found["notes"] == []


def test_between_two_both_are_tried_and_one_reading_says_so(
    officer: Caller, model: GearModel, player: Player, now: Stamp
) -> None:
    chart(officer, model, csv=HELMET)
    heads(player, now, 574.7)
    found = sizes(officer, player, model)

    assert found["says"] in {"Between M and L: try both.", "Between L and M: try both."}
    assert "One reading: try both sizes beside it too." in found["notes"]


@pytest.mark.parametrize(("reading", "word"), [(480, "smaller"), (650, "larger")])
def test_a_player_outside_the_chart_is_said_to_be(
    officer: Caller, model: GearModel, player: Player, now: Stamp, reading: float, word: str
) -> None:
    chart(officer, model, csv=HELMET)
    heads(player, now, reading, reading + 1)
    assert sizes(officer, player, model)["says"] == f"Outside this chart: {word} than its sizes."


def test_no_chart_and_no_measurement_are_said(officer: Caller, model: GearModel, player: Player) -> None:
    assert sizes(officer, player, model)["says"] == "No chart of this model has been entered yet."
    chart(officer, model, csv=HELMET)
    assert sizes(officer, player, model)["says"] == "Not measured yet: head circumference."


def test_pads_go_by_chest_and_shoulders_together_and_by_a_weight_that_is_not_kept(
    officer: Caller, pads: GearModel, player: Player, now: Stamp
) -> None:
    assert chart(officer, pads, rows=PADS, positions=["guard"]).status_code == 201
    measure(player, now, MeasurementKind.CHEST_CIRCUMFERENCE, 900, 902)
    assert sizes(officer, player, pads)["says"] == "Not measured yet: shoulder width."
    measure(player, now, MeasurementKind.SHOULDER_WIDTH, 440, 441)
    found = sizes(officer, player, pads)
    asked = {"player": str(player.id), "model": str(pads.id)}
    light = officer("POST", "size-charts/sizes-by-weight/", asked | {"weight_kg": 50}).json()["results"][0]
    heavy = officer("POST", "size-charts/sizes-by-weight/", asked | {"weight_kg": 90}).json()["results"][0]

    assert found["says"] == light["says"] == "Size M: likely."
    assert "The chart goes by weight too: ask for it." in found["notes"]
    assert any("position is not recorded" in note for note in found["notes"])
    assert heavy["says"] == "No size of this chart goes with all the measures."
    assert Measurement.objects.count() == 2


def test_a_coach_sees_the_sizes_and_no_number(
    officer: Caller, coach: Caller, auditor: Caller, model: GearModel, player: Player, now: Stamp
) -> None:
    chart(officer, model, csv=HELMET)
    heads(player, now, 560, 561)
    for by in (coach, auditor):
        found = sizes(by, player, model)
        assert found["sizes"] == [{"size": "M", "probability": None, "likelihood": "likely"}]
    assert coach("POST", "size-charts/sizes-by-weight/", {"player": str(player.id), "weight_kg": 50}).status_code == 403


def test_without_a_model_every_model_in_the_room_is_asked(
    officer: Caller, item: Item, player: Player, club: Club
) -> None:
    other = ItemFactory.create(club=club)
    rows = officer("GET", f"size-charts/sizes/?player={player.id}").json()["results"]
    assert {row["model"] for row in rows} == {str(item.model_id), str(other.model_id)}


def test_players_and_models_of_others_are_not_there(officer: Caller, player: Player, model: GearModel) -> None:
    foreign = PlayerFactory.create()
    assert officer("GET", f"size-charts/sizes/?player={foreign.id}&model={model.id}").status_code == 404
    assert officer("GET", f"size-charts/sizes/?player={player.id}&model={ModelFactory.create().id}").status_code == 404
    assert officer("GET", "size-charts/sizes/").status_code == 400


def test_the_clubs_own_error_widens_what_is_between(
    officer: Caller, model: GearModel, player: Player, club: Club, now: Stamp
) -> None:
    chart(officer, model, csv=HELMET)
    heads(player, now, 569, 570)
    before = sizes(officer, player, model)["sizes"][0]["probability"]
    for _ in range(6):
        heads(PlayerFactory.create(club=club), now, 550, 562)
    after = sizes(officer, player, model)["sizes"][0]["probability"]

    # TEM of six pairs 12 mm apart: sqrt(6 * 144 / 12) = 8.49 mm, in the place of the usual 2 mm.
    assert before > 0.98
    assert 0.75 < after < 0.85
