"""`items/hold-many/`: a maker's notice in one call."""

from typing import Any

import pytest

from gearlife.domain.ids import uuid7
from gearlife.models import Hold
from tests.factories import ItemFactory, put_on
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

ADDRESS = "items/hold-many/"


@pytest.fixture
def gear(club: Any) -> list[Any]:
    """Three helmets of one model, the first of them worn."""
    first = ItemFactory.create(club=club, serial="TL0001")
    put_on(first)
    return [first, *(ItemFactory.create(club=club, model=first.model, serial=name) for name in ("TL0002", "TL0003"))]


def body(gear: list[Any], **changes: Any) -> dict[str, Any]:
    usual = {"model": str(gear[0].model_id), "reason": "The shell may split.", "reference": "N-12"}
    return usual | {"ranges": [{"from": "TL0001", "to": "TL0002"}]} | changes


def test_it_answers_line_by_line_and_in_numbers(gear: list[Any], officer: Caller) -> None:
    answer = officer("POST", ADDRESS, body(gear, serials=["TL0999"])).json()

    assert answer["counts"] == {
        "held": 2,
        "already_held": 0,
        "not_comparable": 0,
        "released_before": 0,
        "retired": 0,
        "unknown_serials": 1,
        "worn": 1,
    }
    assert [(line["serial"], line["why"], line["whereabouts"]) for line in answer["held"]] == [
        ("TL0001", "in_range", "player"),
        ("TL0002", "in_range", "stock"),
    ]
    hold = officer("GET", f"items/{gear[1].id}/").json()["holds"][0]
    assert (hold["id"], hold["cause"], hold["reference"]) == (answer["held"][1]["hold"], "notice", "N-12")


def test_checked_it_says_the_same_and_changes_nothing(gear: list[Any], officer: Caller) -> None:
    checked = officer("POST", ADDRESS, body(gear, check=True)).json()
    assert (checked["check"], checked["counts"]["held"], Hold.objects.exists()) == (True, 2, False)

    done = officer("POST", ADDRESS, body(gear)).json()
    assert done["counts"] == checked["counts"]


def test_what_cannot_be_compared_is_listed_apart(club: Any, gear: list[Any], officer: Caller) -> None:
    ItemFactory.create(club=club, model=gear[0].model, serial="", tag="T-7")
    answer = officer("POST", ADDRESS, body(gear)).json()

    [line] = answer["not_comparable"]
    assert (line["serial"], line["tag"], line["why"]) == (None, "T-7", "no_maker_serial")
    assert line in answer["held"]


def test_a_key_belongs_to_one_body(gear: list[Any], officer: Caller) -> None:
    key = str(uuid7())
    first, again = (officer("POST", ADDRESS, body(gear), Idempotency_Key=key) for _ in range(2))
    other = officer("POST", ADDRESS, body(gear, reference="N-13"), Idempotency_Key=key)

    assert [each.status_code for each in (first, again, other)] == [200, 200, 409]
    assert (first.json()["counts"]["held"], again.json()["counts"]["already_held"]) == (2, 2)
    assert Hold.objects.count() == 2


def test_every_bad_range_is_named_and_nothing_is_held(gear: list[Any], officer: Caller) -> None:
    ranges = [{"from": "TL0001", "to": "TL0002"}, {"from": "TL9", "to": "TL10"}, {"from": "TL0002", "to": "TL0001"}]
    answer = officer("POST", ADDRESS, body(gear, ranges=ranges))

    assert (answer.status_code, pointers(answer)) == (400, {"/ranges/1", "/ranges/2"})
    assert not Hold.objects.exists()


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"model": None}, "/model"),
        ({"ranges": []}, "/serials"),
        ({"cause": "incident"}, "/cause"),
        ({"made_from": "2022", "made_to": "2021"}, "/made_to"),
        ({"serials": ["x"] * 2001}, "/serials"),
        ({"reference": ""}, "/reference"),
        ({"told": "x"}, "/told"),
    ],
)
def test_what_makes_no_notice_is_refused(gear: list[Any], officer: Caller, changes: Any, pointer: str) -> None:
    answer = officer("POST", ADDRESS, body(gear, **changes))
    assert (answer.status_code, pointers(answer)) == (400, {pointer})


def test_a_model_and_a_maker_at_once_are_refused(gear: list[Any], officer: Caller) -> None:
    answer = officer("POST", ADDRESS, body(gear, manufacturer=str(gear[0].manufacturer_id)))
    assert (answer.status_code, pointers(answer)) == (400, {"/model"})


def test_a_span_of_manufacture_narrows_it(gear: list[Any], officer: Caller) -> None:
    """The helmets of these tests were made in March 2026."""
    before, within = (officer("POST", ADDRESS, body(gear, made_to=to, check=True)) for to in ("2026-02", "2026"))
    assert [answer.json()["counts"]["held"] for answer in (before, within)] == [0, 2]


def test_a_phone_may_hold_by_notice_and_a_coach_may_not(club: Any, gear: list[Any]) -> None:
    league = League()
    theirs = body([league.item], serials=[league.item.serial])
    statuses = {letter: league.callers[letter]("POST", ADDRESS, theirs).status_code for letter in "AOCUV"}
    assert statuses == {"A": 200, "O": 200, "C": 403, "U": 403, "V": 200}
