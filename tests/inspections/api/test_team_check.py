"""The weekly check of a team in one request."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.ids import uuid7
from gearlife.models import Club, Creation, Hold, Item
from inspections.models import Inspection
from tests import factories
from tests.factories import AT
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db

CRACK = {"point": "shell", "defect": "crack", "grade": "stop"}


def helmets(club: Club, count: int) -> list[Item]:
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    return [factories.ItemFactory.create(club=club, model=model) for _ in range(count)]


def check(by: Caller, *entries: Any) -> list[dict[str, Any]]:
    answer = by("POST", "inspections/bulk/", {"entries": list(entries)})
    assert answer.status_code == 200
    results: list[dict[str, Any]] = answer.json()["results"]
    return results


def test_every_entry_is_answered_in_order_with_what_it_led_to(officer: Caller, club: Club) -> None:
    first, second = helmets(club, 2)
    results = check(officer, {"item": str(first.id)}, {"item": str(second.id), "findings": [CRACK]})

    assert [result["status"] for result in results] == [201, 201]
    assert [result["body"]["item"] for result in results] == [str(first.id), str(second.id)]
    assert [result["body"]["item_standing"] for result in results] == ["no_stop", "stopped"]


def test_a_bad_entry_spoils_no_other(officer: Caller, club: Club) -> None:
    good, bad = helmets(club, 2)
    foreign = factories.ItemFactory.create()
    results = check(
        officer,
        {"item": str(good.id), "findings": [CRACK]},
        {"item": str(bad.id), "findings": [{"point": "visor", "grade": "stop"}]},
        {"item": str(foreign.id)},
        {"item": str(good.id), "depth": "deep"},
        "no entry",
        {"item": str(good.id), "id": str(club.id)},
        {"item": str(good.id)},
    )

    assert [result["status"] for result in results] == [201, 400, 400, 400, 400, 409, 201]
    assert results[1]["problem"]["errors"][0]["pointer"] == "/entries/1/findings/0/point"
    assert results[2]["problem"]["errors"][0]["pointer"] == "/entries/2/item"
    assert Inspection.objects.count() == 2


def test_not_seen_today_records_nothing_and_stays_due(officer: Caller, club: Club) -> None:
    seen, unseen = helmets(club, 2)
    results = check(officer, {"item": str(seen.id)}, {"item": str(unseen.id), "not_seen": True})

    assert results[1] == {"status": 200, "id": None, "item": str(unseen.id), "not_seen": True}
    assert list(Inspection.objects.values_list("item_id", flat=True)) == [seen.id]
    unseen.refresh_from_db()
    assert unseen.last_look_at is None


def test_not_seen_and_yet_found_something_is_refused(officer: Caller, item: Item) -> None:
    [result] = check(officer, {"item": str(item.id), "not_seen": True, "findings": [CRACK]})

    assert result["problem"]["errors"][0]["pointer"] == "/entries/0/not_seen"


def test_the_same_check_sent_again_changes_nothing(officer: Caller, club: Club) -> None:
    entries = [{"id": str(uuid7()), "item": str(item.id), "findings": [CRACK]} for item in helmets(club, 3)]
    first, again = check(officer, *entries), check(officer, *entries)

    assert [result["status"] for result in again] == [200, 200, 200]
    assert [result["body"] for result in again] == [result["body"] for result in first]
    assert (Inspection.objects.count(), Hold.objects.count()) == (3, 3)


def test_an_entry_and_a_put_of_the_same_body_are_one_creation(officer: Caller, item: Item) -> None:
    id_ = str(uuid7())
    check(officer, {"id": id_, "item": str(item.id)})

    assert officer("PUT", f"inspections/{id_}/", {"item": str(item.id)}).status_code == 200


def test_an_id_that_comes_twice_in_one_request_is_recorded_once(officer: Caller, item: Item) -> None:
    id_ = str(uuid7())
    entries = [{"id": id_, "item": str(item.id), "depth": depth} for depth in ("look", "look", "full")]

    assert [result["status"] for result in check(officer, *entries)] == [201, 200, 409]


def test_the_rest_is_recorded_one_by_one_when_the_batch_fails(
    officer: Caller, club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("nobody foresaw this")

    monkeypatch.setattr("inspections.api.inspections.record_inspections", fail)
    entries = [{"id": str(uuid7()), "item": str(item.id)} for item in helmets(club, 2)]

    assert [result["status"] for result in check(officer, *entries)] == [201, 201]
    assert Creation.objects.filter(id__in=[entry["id"] for entry in entries]).count() == 2


def test_an_officer_of_another_club_is_refused_entry_by_entry(officer: Caller, club: Club) -> None:
    far = factories.ItemFactory.create(club=factories.ClubFactory.create(organisation=club.organisation))
    [own] = helmets(club, 1)
    results = check(officer, {"item": str(far.id)}, {"item": str(own.id)})

    assert [result["status"] for result in results] == [400, 201]


def test_the_number_of_queries_does_not_grow_with_the_team(officer: Caller, club: Club) -> None:
    items = helmets(club, 24)

    def queries(some: list[Item]) -> int:
        entries = [{"item": str(each.id), "inspected_at": AT.isoformat(), "findings": [CRACK]} for each in some]
        with CaptureQueriesContext(connection) as captured:
            check(officer, *entries)
        return len(captured)

    assert queries(items[:2]) == queries(items[2:])
