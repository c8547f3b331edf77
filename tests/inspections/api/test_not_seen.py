"""`not-seen/`: phones note what was not there, once."""

from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.models import Club, Item, Team
from inspections.models import NotSeen
from tests.factories import AT, ItemFactory, PlayerFactory, put_on
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db


@pytest.fixture
def worn(club: Club, team: Team) -> Item:
    item = ItemFactory.create(club=club, team=team)
    put_on(item, PlayerFactory.create(club=club, team=team))
    return item


def body(item: Item, **more: Any) -> dict[str, Any]:
    return {"item": str(item.id), **more}


def test_a_put_under_the_phones_id_is_noted_once(officer: Caller, worn: Item) -> None:
    path = f"not-seen/{uuid7()}/"
    first, second = (officer("PUT", path, body(worn, note="ill")) for _ in range(2))

    assert (first.status_code, second.status_code, NotSeen.objects.count()) == (201, 200, 1)
    assert first.json() == second.json()


def test_the_answer_says_who_had_it_and_when(officer: Caller, worn: Item) -> None:
    answer = officer("POST", "not-seen/", body(worn, noted_at=AT.isoformat(), note="gear at home")).json()

    assert answer["player"] == str(worn.assignments.get().player_id)
    assert (answer["item"], answer["note"], answer["noted_at"]) == (
        str(worn.id),
        "gear at home",
        AT.isoformat().replace("+00:00", "Z"),
    )


def test_what_nobody_has_is_409(officer: Caller, item: Item) -> None:
    answer = officer("POST", "not-seen/", body(item))

    assert (answer.status_code, answer.json()["code"]) == (409, "nobody_has_it")


def test_a_device_notes_it_too(device: Caller, worn: Item) -> None:
    assert device("POST", "not-seen/", body(worn)).status_code == 201


def test_a_coach_reads_the_own_teams_and_notes_none(officer: Caller, coach: Caller, worn: Item, item: Item) -> None:
    put_on(item)
    officer("POST", "not-seen/", body(worn))
    officer("POST", "not-seen/", body(item))

    assert [row["item"] for row in coach("GET", "not-seen/").json()["results"]] == [str(worn.id)]
    assert coach("POST", "not-seen/", body(worn)).status_code == 403


def test_the_list_is_filtered_by_player_and_moment(officer: Caller, worn: Item) -> None:
    officer("POST", "not-seen/", body(worn))
    player = worn.assignments.get().player_id

    def found(query: str) -> int:
        return len(officer("GET", f"not-seen/?{query}").json()["results"])

    assert found(f"player={player}&noted_after=2026-10-14T00:00:00Z") == 1
    assert found("noted_before=2026-10-14T00:00:00Z") == 0
