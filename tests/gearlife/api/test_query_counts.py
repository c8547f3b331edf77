"""The number of queries of a list does not grow with its rows."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import CertificationKind
from gearlife.models import Alert, Item
from gearlife.operations.certifications import NewCertification, certify
from gearlife.operations.holds import NewHold, hold
from tests.factories import (
    DAY,
    ItemFactory,
    ManufacturerFactory,
    ModelFactory,
    PlayerFactory,
    TeamFactory,
    put_on,
    stamp,
)
from tests.gearlife.api.league import League

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

FEW, MANY = 5, 50


@pytest.fixture
def league() -> League:
    return League()


def queries(league: League, address: str, rows: int) -> int:
    """How many queries a page of so many rows takes."""
    with CaptureQueriesContext(connection) as asked:
        answer = league.callers["O"]("GET", f"{address}page_size={rows}")
    assert len(answer.json()["results"]) == rows
    return len(asked)


def gear(league: League, count: int) -> list[Item]:
    """Items, every third one held and every third one worn."""
    model = ModelFactory.create(manufacturer__organisation=league.organisation)
    made = [ItemFactory.create(club=league.club, model=model, team=league.team) for _ in range(count)]
    for item in made[::3]:
        hold(new=NewHold(item_id=item.id, reason="crack"), stamp=stamp(league.organisation))
    for item in made[1::3]:
        put_on(item, PlayerFactory.create(club=league.club))
    return made


def test_lists_about_gear_ask_as_much_for_50_rows_as_for_5(league: League) -> None:
    for item in gear(league, MANY):
        new = NewCertification(kind=CertificationKind.RECONDITIONING, certified_on=DAY)
        certify(item=item, new=new, stamp=stamp(league.organisation))
    Alert.objects.filter(club=league.club).update(acknowledged_by=league.users["O"])
    assert Alert.objects.open().count() > FEW

    many = {"items/?": MANY, "items/?issuable=false&": 30, "items/?standing=no_stop&": 30, "certifications/?": MANY}
    many["alerts/?"] = min(Alert.objects.open().count(), MANY)
    asked = {address: (queries(league, address, FEW), queries(league, address, rows)) for address, rows in many.items()}
    assert {address: pair for address, pair in asked.items() if pair[0] != pair[1]} == {}


@pytest.mark.parametrize("address", ["teams/?", "manufacturers/?", "models/?"])
def test_other_lists_ask_as_much_for_50_rows_as_for_5(league: League, address: str) -> None:
    make: dict[str, Any] = {
        "teams/?": lambda: TeamFactory.create(club=league.club),
        "manufacturers/?": lambda: ManufacturerFactory.create(organisation=league.organisation),
        "models/?": lambda: ModelFactory.create(manufacturer=league.item.manufacturer),
    }
    for _ in range(MANY):
        make[address]()
    assert queries(league, address, FEW) == queries(league, address, MANY)


def test_a_history_asks_as_much_for_many_events_as_for_few(league: League) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            league.callers["O"]("GET", f"items/{league.item.id}/history/")
        return len(captured)

    few = asked()
    for number in range(FEW):
        new = NewHold(item_id=league.item.id, reason=f"reason {number}")
        hold(new=new, stamp=stamp(league.organisation))
    assert asked() == few
