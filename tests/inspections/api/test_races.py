"""Several phones at once: each fact is recorded once, nobody is refused for another's haste, the ledger stays whole."""

from collections import Counter
from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.models import Club, Hold, Item
from gearlife.queries.ledger import first_broken
from inspections.models import Inspection
from tests import factories
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.test_base_races import MANY, asked_at_once, of

pytestmark = pytest.mark.django_db(transaction=True)

CRACK = {"point": "shell", "defect": "crack", "grade": "stop"}


def helmets(club: Club, count: int) -> list[Item]:
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    return [factories.ItemFactory.create(club=club, model=model) for _ in range(count)]


def check(by: Caller, entries: list[dict[str, Any]]) -> list[int]:
    answer = of(by)("POST", "inspections/bulk/", {"entries": entries})
    return [result["status"] for result in answer.json()["results"]]


def test_one_check_sent_by_many_at_once_is_recorded_once(officer: Caller, club: Club) -> None:
    entries = [{"id": str(uuid7()), "item": str(item.id), "findings": [CRACK]} for item in helmets(club, 4)]
    answers = asked_at_once(lambda _: check(officer, entries))

    assert Counter(status for answer in answers for status in answer) == {201: 4, 200: 4 * (MANY - 1)}
    assert (Inspection.objects.count(), Hold.objects.count()) == (4, 4)
    assert first_broken(club.organisation_id) is None


def test_checks_of_the_same_items_in_other_orders_all_come_through(officer: Caller, club: Club) -> None:
    ids = [str(item.id) for item in helmets(club, 4)]
    orders = [ids, ids[::-1], ids[2:] + ids[:2], ids[1:] + ids[:1]]
    answers = asked_at_once(lambda n: check(officer, [{"item": id_, "findings": [CRACK]} for id_ in orders[n % 4]]))

    assert Counter(status for answer in answers for status in answer) == {201: 4 * MANY}
    assert Hold.objects.count() == 4 * MANY
    assert first_broken(club.organisation_id) is None


def test_a_crack_and_a_pass_at_once_leave_the_item_stopped(officer: Caller, club: Club) -> None:
    [item] = helmets(club, 1)
    bodies: list[dict[str, Any]] = [{"item": str(item.id)}, {"item": str(item.id), "findings": [CRACK]}]
    answers = asked_at_once(lambda n: of(officer)("POST", "inspections/", bodies[n % 2]))

    assert {answer.status_code for answer in answers} == {201}
    assert Item.objects.with_standing(factories.DAY).get(id=item.id).standing == "stopped"
