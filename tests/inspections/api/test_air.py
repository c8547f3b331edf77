"""`air-records/` and `model-air/`: phones send air once, a whole team at once, and ask what it means."""

from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.models import Hold, Item
from inspections.models import AirRecord
from tests.factories import AT, ItemFactory, put_on
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db


def body(item: Item, felt: str = "firm", **more: Any) -> dict[str, Any]:
    return {"item": str(item.id), "felt": felt, **more}


def test_a_put_under_the_phones_id_is_recorded_once(device: Caller, item: Item) -> None:
    path = f"air-records/{uuid7()}/"
    first, second = (device("PUT", path, body(item, "wont_hold")) for _ in range(2))

    assert (first.status_code, second.status_code) == (201, 200)
    assert (AirRecord.objects.count(), Hold.objects.count()) == (1, 1)
    assert first.json() == second.json()
    assert first.json()["item_standing"] == "stopped"
    assert first.json()["holds"] == [str(Hold.objects.get().id)]


def test_the_answer_says_what_a_gauges_number_is_at_the_reference(officer: Caller, item: Item) -> None:
    sent = body(item, pressure_kpa=11.8, temperature_c=2, elevation_m=0)
    row = officer("POST", "air-records/", sent).json()

    # trade.md's worked example backwards: 20 kPa at 22 degrees, 18.9 at 20.
    assert row["at_reference"]["pressure_kpa"] == pytest.approx(19.2, abs=0.1)
    assert 1 < row["at_reference"]["error_kpa"] < 2
    assert officer("POST", "air-records/", body(item, pressure_kpa=11.8)).json()["at_reference"] is None


def test_a_bulk_is_answered_entry_by_entry_and_a_bad_one_spoils_no_other(officer: Caller, item: Item) -> None:
    other = ItemFactory.create(club=item.club)
    ids = [str(uuid7()) for _ in range(4)]
    entries = [
        {"id": ids[0], **body(item)},
        {"id": ids[1], **body(other, "soft")},
        {"id": ids[2], **body(other, "wont_hold")},
        {"id": ids[3], **body(item, cell="crown")},
    ]
    answer = officer("POST", "air-records/bulk/", {"entries": entries})
    results = answer.json()["results"]

    assert [result["status"] for result in results] == [201, 400, 201, 400]
    assert results[1]["problem"]["errors"][0]["pointer"] == "/entries/1/felt"
    assert results[3]["problem"]["errors"][0]["pointer"] == "/entries/3/cell"
    assert (results[2]["body"]["item_standing"], AirRecord.objects.count()) == ("stopped", 2)
    again = officer("POST", "air-records/bulk/", {"entries": entries}).json()["results"]
    assert [result["status"] for result in again] == [200, 400, 200, 400]
    assert AirRecord.objects.count() == 2


def test_a_bulk_of_many_takes_as_many_queries_as_one_of_few(
    officer: Caller, item: Item, django_assert_max_num_queries: Any
) -> None:
    items = [ItemFactory.create(club=item.club, model=item.model) for _ in range(40)]
    with django_assert_max_num_queries(60):
        answer = officer("POST", "air-records/bulk/", {"entries": [body(each) for each in items]})
    assert {result["status"] for result in answer.json()["results"]} == {201}


def test_an_unknown_name_and_a_wrong_number_are_told_at_their_places(officer: Caller, item: Item) -> None:
    answer = officer("POST", "air-records/", body(item, pressure_psi=3))
    assert [error["pointer"] for error in answer.json()["errors"]] == ["/pressure_psi"]
    answer = officer("POST", "air-records/", body(item, barometric_kpa=1013))
    assert [(error["pointer"], "another unit" in error["detail"]) for error in answer.json()["errors"]] == [
        ("/barometric_kpa", True)
    ]


def test_the_leak_test_says_that_nothing_is_suspected_and_never_that_it_is_good(officer: Caller, item: Item) -> None:
    officer("POST", "air-records/", body(item))
    [row] = officer("GET", f"air-records/leak-test/?item={item.id}").json()["results"]

    assert (row["outcome"], row["because"], row["heavy"]) == ("nothing_suspected", "", False)
    assert "good" not in str(row)


def test_the_leak_test_tells_its_slope_and_interval(officer: Caller, item: Item) -> None:
    for days_ago, kpa in ((28, 30), (21, 26), (14, 22), (7, 18), (0, 14)):
        at = AT.replace(day=14).timestamp() - days_ago * 86400
        moment = AT.fromtimestamp(at, AT.tzinfo).isoformat()
        officer(
            "POST",
            "air-records/",
            {
                "item": str(item.id),
                "act": "reading",
                "pressure_kpa": kpa,
                "temperature_c": 20,
                "barometric_kpa": 101.3,
                "happened_at": moment,
            },
        )
    [row] = officer("GET", f"air-records/leak-test/?item={item.id}").json()["results"]

    assert (row["outcome"], row["loses_kpa_a_week"]) == ("leak_suspected", 4.0)
    assert row["interval_kpa_a_week"] == [4.0, 4.0]


def test_expected_is_a_bound_of_the_change_and_says_so(officer: Caller, item: Item) -> None:
    officer("POST", "air-records/", body(item, pressure_kpa=20, temperature_c=22, elevation_m=0))
    [row] = officer("GET", f"air-records/expected/?item={item.id}&temperature_c=2&elevation_m=0").json()["results"]

    # The worked example: 20 kPa at 22 degrees becomes 11.8 at 2 degrees, where nothing gives.
    assert (row["was_kpa"], row["changes_at_most_kpa"], row["rigid"]["pressure_kpa"]) == (20, 8.2, 11.8)
    assert row["says"] == "A bound: its liner gives, so that it changes by less."


@pytest.mark.parametrize(
    "query", ["", "&temperature_c=2", "&temperature_c=x&elevation_m=0", "&temperature_c=99&elevation_m=0"]
)
def test_expected_without_a_place_is_told_what_is_missing(officer: Caller, item: Item, query: str) -> None:
    assert officer("GET", f"air-records/expected/?item={item.id}{query}").status_code == 400


def test_another_organisations_item_is_404_in_both_questions(foreigner: Caller, item: Item) -> None:
    for question in ("leak-test/?", "expected/?temperature_c=2&elevation_m=0&"):
        assert foreigner("GET", f"air-records/{question}item={item.id}").status_code == 404


def test_lists_are_filtered(officer: Caller, item: Item) -> None:
    put_on(item)
    officer("POST", "air-records/", body(item))
    officer("POST", "air-records/", body(item, "air_added", strokes=4))

    def found(query: str) -> int:
        return len(officer("GET", f"air-records/?{query}").json()["results"])

    assert (found(f"item={item.id}"), found("act=added"), found("felt=firm"), found("counts_as=stop")) == (2, 1, 1, 0)
    assert (found("happened_after=2026-10-14T00:00:00Z"), found("happened_before=2026-10-14T00:00:00Z")) == (2, 0)


def test_an_officer_states_a_models_air_and_changes_it(officer: Caller, device: Caller, item: Item) -> None:
    facts = {"model": str(item.model_id), "cells": ["front", "crown"], "lowest_kpa": 10, "highest_kpa": 30}
    assert device("POST", "model-air/", facts).status_code == 403
    refused = officer("POST", "model-air/", facts)
    assert [error["pointer"] for error in refused.json()["errors"]] == ["/stated_in"]
    made = officer("POST", "model-air/", {**facts, "stated_in": "owner's booklet, page 4"})
    assert (made.status_code, made.json()["outside_counts_as"]) == (201, "repair")
    path = f"model-air/{made.json()['id']}/"
    changed = officer("PATCH", path, {"outside_counts_as": "stop"}, If_Match=made.headers["ETag"])

    assert (changed.status_code, changed.json()["outside_counts_as"]) == (200, "stop")
    assert officer("POST", "air-records/", body(item, cell="crown")).status_code == 201


def test_what_will_not_hold_stops_whatever_the_phone_calls_the_cell(officer: Caller, item: Item) -> None:
    facts = {"item": str(item.id), "cell": "of_an_old_list"}
    assert pointers(officer("POST", "air-records/", facts | {"felt": "firm"})) == {"/cell"}
    row = officer("POST", "air-records/", facts | {"felt": "wont_hold"}).json()
    assert (row["counts_as"], row["item_standing"]) == ("stop", "stopped")


def test_who_does_not_enter_a_makers_range_is_shown_none(officer: Caller, coach: Caller, item: Item) -> None:
    facts = {"model": str(item.model_id), "lowest_kpa": 10, "highest_kpa": 30, "stated_in": "booklet, page 4"}
    id_ = officer("POST", "model-air/", facts).json()["id"]
    assert officer("GET", f"model-air/{id_}/").json()["highest_kpa"] == 30
    assert coach("GET", f"model-air/{id_}/").json()["highest_kpa"] is None
