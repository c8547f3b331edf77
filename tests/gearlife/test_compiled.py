"""A compiled question gives what the ORM gives, however often and with whatever values it is asked."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.db.models import F, QuerySet
from django.db.models.sql.compiler import SQLCompiler
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import Standing
from gearlife.models import Item, PolicyRule, Season
from gearlife.models import compiled as given
from gearlife.models.compiled import Statement, compiled
from tests.factories import AT, DAY, ClubFactory, ItemFactory

pytestmark = pytest.mark.django_db


@compiled
def standings() -> QuerySet[Any, Any]:
    items = Item.objects.filter(id__in=given.ids("ids")).with_standing(given.day("day")).order_by("id")
    return items.values(
        "id", "serial", "taken_in_on", "add_ons", "made_for_one_player", "standing", club_name=F("club__name")
    )


def test_the_rows_are_those_of_the_orm_with_every_kind_of_value() -> None:
    items = [ItemFactory.create(made_on=made, add_ons=["a cover"]) for made in ("2010", "2025-03")]
    ids = [item.id for item in items]
    columns = ("id", "serial", "taken_in_on", "add_ons", "made_for_one_player", "standing")
    by_orm = (
        Item.objects.filter(id__in=ids).with_standing(DAY).order_by("id").values(*columns, club_name=F("club__name"))
    )

    assert standings().rows(ids=ids, day=DAY) == list(by_orm)
    assert [row["standing"] for row in by_orm] == [Standing.STOPPED, Standing.NO_STOP]


def test_other_values_give_other_rows() -> None:
    item = ItemFactory.create(made_on="2024-11-01")

    assert standings().rows(ids=[item.id], day=DAY)[0]["standing"] == Standing.NO_STOP
    assert standings().rows(ids=[item.id], day=DAY + timedelta(days=60))[0]["standing"] == Standing.STOPPED
    assert standings().rows(ids=[uuid4()], day=DAY) == []
    assert standings().rows(ids=[], day=DAY) == []


def test_it_is_compiled_once(monkeypatch: pytest.MonkeyPatch) -> None:
    item = ItemFactory.create()
    standings().rows(ids=[item.id], day=DAY)
    monkeypatch.setattr(SQLCompiler, "as_sql", None)

    assert len(standings().rows(ids=[item.id], day=DAY)) == 1


def test_text_from_outside_stays_a_value() -> None:
    item = ItemFactory.create(serial="O'X-1")
    statement = Statement(Item.objects.filter(serial=given.text("serial")).values("id"))

    assert statement.rows(serial="O'X-1") == [{"id": item.id}]
    assert statement.rows(serial="' OR '1'='1") == []


def test_ids_and_moments_are_taken_as_the_columns_take_them() -> None:
    item = ItemFactory.create()
    Item.objects.filter(id=item.id).update(last_look_at=AT)
    asked = Item.objects.filter(id=given.one_id("id"), last_look_at__gte=given.moment("since"))
    statement = Statement(asked.values("last_look_at"))

    assert statement.rows(id=item.id, since=AT) == [{"last_look_at": AT}]
    assert statement.rows(id=item.id, since=AT + timedelta(seconds=1)) == []


def test_more_ids_than_a_statement_may_have_parameters_are_one_parameter() -> None:
    item = ItemFactory.create()
    many = [uuid4() for _ in range(connection.features.max_query_params or 70_000)]

    assert len(standings().rows(ids=[*many, item.id], day=DAY)) == 1


def test_a_question_that_can_have_no_answer_has_none() -> None:
    assert list(Statement(PolicyRule.objects.none().values_list("id")).values()) == []
    assert Statement(PolicyRule.objects.none()).instances() == []


def test_values_come_in_the_order_in_which_they_were_asked_for() -> None:
    club = ClubFactory.create()
    season = Season.objects.get(club=club)
    statement = Statement(Season.objects.filter(club_id__in=given.ids("clubs")).values_list("ends_on", "id", "year"))

    assert list(statement.values(clubs=[club.id])) == [(season.ends_on, season.id, season.year)]


def test_objects_come_with_what_is_fetched_along() -> None:
    item = ItemFactory.create(add_ons=["a cover"])
    statement = Statement(Item.objects.select_related("club", "model", "team").filter(id=given.one_id("id")))
    [made] = statement.instances(id=item.id)
    [again] = statement.instances(id=item.id)

    with CaptureQueriesContext(connection) as queries:
        assert (made, made.club, made.model, made.team) == (item, item.club, item.model, None)
    assert len(queries) == 0
    assert made.add_ons == ["a cover"]
    assert made is not again
    assert made._state.db == item._state.db
    assert statement.instances(id=uuid4()) == []
