"""Air on a phone, without scripts: three words a cell, numbers for who has a gauge, and an item's page on it."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gearlife.domain.vocabulary import Liner, Role
from gearlife.models import Club, Hold, Item, Team, User
from inspections.domain.air_records import Act, Felt, Measured
from inspections.models import AirOfModel, AirRecord
from inspections.operations.air import NewAirRecord, record_all_air, state_air
from tests import factories
from tests.factories import AT, ModelFactory, person
from tests.inspections.web.checking import worn
from tests.pages import forms, links, seen, sign_in

pytestmark = pytest.mark.django_db


def helmet(team: Team, number: int | None = None, **facts: Any) -> Item:
    model = ModelFactory.create(manufacturer__organisation=team.organisation, liner=Liner.AIR)
    return worn(team, number, model=model, **facts)


def air_of(item: Item) -> str:
    return reverse("inspections:air", args=[item.id])


def round_of(team: Team) -> str:
    return reverse("inspections:air-round", args=[team.id])


def tap(client: Client, item: Item, cell: str = "liner", **more: Any) -> Any:
    """Send the first form of a cell, with a button of it."""
    sent = next(each.fields for each in forms(client.get(air_of(item))) if each.fields.get("cell") == cell)
    return client.post(air_of(item), {**sent, **more})


def test_a_whole_team_is_tapped_from_item_to_item(page: Client, team: Team) -> None:
    items = [helmet(team, number) for number in (3, 7, 21)]
    worn(team, 50)  # a foam helmet, which is left out
    address = air_of(items[0])
    for item in items:
        assert address == air_of(item)
        answer = tap(page, item, felt="firm")
        assert answer.status_code == 303
        address = answer["Location"]

    assert address == round_of(team)
    assert "The air of all has been looked after." in seen(page.get(address))
    assert set(AirRecord.objects.values_list("act", "felt", "cell")) == {("reading", "firm", "liner")}
    assert set(Item.objects.filter(id__in=[item.id for item in items]).values_list("last_air_check_at", flat=True)) == {
        AT
    }


def test_the_three_words_come_first_and_no_pressure_to_fill_to_is_shown(page: Client, team: Team) -> None:
    item = helmet(team, 12, given_name="Ada", family_name="Otter")
    facts = {"lowest_kpa": 11.25, "highest_kpa": 33.75, "stated_in": "owner's booklet, page 4"}
    state_air(model=item.model, facts=facts, stamp=factories.stamp(team.organisation))
    text = seen(page.get(air_of(item)))

    assert "12 Ada Otter" in text
    assert text.index("Firm") < text.index("Air added") < text.index("Won't hold") < text.index("With a gauge")
    for address in (air_of(item), round_of(team), reverse("gearlife:item", args=[item.id])):
        assert not {"11.25", "33.75", "11,25"} & set(seen(page.get(address)).split())


def test_what_will_not_hold_comes_off_at_once(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    answer = tap(page, item, felt="wont_hold")

    assert answer["Location"] == reverse("inspections:off", args=[item.id])
    assert "will not hold air" in seen(page.get(answer["Location"]))
    assert Hold.objects.get(item=item).released_at is None


def test_one_form_sent_twice_records_once(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    sent = forms(page.get(air_of(item)))[0].fields | {"felt": "air_added"}
    answers = [page.post(air_of(item), sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert AirRecord.objects.count() == 1


def test_the_cells_of_a_model_come_one_by_one(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    state_air(model=item.model, facts={"cells": ["front", "crown"]}, stamp=factories.stamp(team.organisation))

    assert tap(page, item, "front", felt="firm")["Location"] == air_of(item)
    assert "Last, on" in seen(page.get(air_of(item)))
    assert tap(page, item, "crown", felt="firm")["Location"] == round_of(team)


def test_numbers_are_kept_in_one_unit_whatever_the_gauge_shows(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    numbers = {
        "act": "added",
        "pressure_kpa": "3,5",
        "pressure_kpa.unit": "psi",
        "temperature_c": "50",
        "temperature_c.unit": "°F",
        "elevation_m": "1000",
        "elevation_m.unit": "ft",
        "strokes": "4",
    }
    assert tap(page, item, **numbers).status_code == 303
    row = AirRecord.objects.get()

    assert (row.act, row.felt, row.strokes) == (Act.ADDED, "", 4)
    assert (row.pressure_kpa, row.temperature_c, row.elevation_m) == (24.13, 10.0, 304.8)
    assert "24.1 kPa at 10 °C; at 20 °C by the sea" in seen(page.get(reverse("gearlife:item", args=[item.id])))


def test_a_reader_of_centimetres_is_asked_in_kilopascals(page: Client, team: Team, club: Club) -> None:
    item = helmet(team, 7)
    units = forms(page.get(air_of(item)))[1].fields
    assert (units["pressure_kpa.unit"], units["temperature_c.unit"]) == ("psi", "°F")
    User.objects.update(units="centimetres")
    units = forms(page.get(air_of(item)))[1].fields
    assert (units["pressure_kpa.unit"], units["temperature_c.unit"], units["barometric_kpa.unit"]) == (
        "kPa",
        "°C",
        "hPa",
    )


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"pressure_kpa": "much", "pressure_kpa.unit": "psi"}, "The gauge reads now: much is no number."),
        ({"pressure_kpa": "40", "pressure_kpa.unit": "psi"}, "is it in another unit?"),
        ({"pressure_kpa": "nan", "pressure_kpa.unit": "psi"}, "is it in another unit?"),
        ({"strokes": "a few"}, "Strokes of the pump: write a whole number up to 200."),
        ({}, "A reading has a pressure, or says how it felt."),
    ],
)
def test_what_cannot_be_read_comes_back_with_the_reason_and_what_was_typed(
    page: Client, team: Team, typed: dict[str, str], says: str
) -> None:
    item = helmet(team, 7)
    answer = tap(page, item, act="reading", **typed)

    assert answer.status_code == 400
    assert says in seen(answer)
    assert not AirRecord.objects.exists()
    if "pressure_kpa" in typed:
        assert forms(answer)[1].fields["pressure_kpa"] == typed["pressure_kpa"]


def test_the_rule_opens_an_item_again_after_its_week(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    by = factories.stamp(team.organisation)
    record_all_air([NewAirRecord(item, felt=Felt.FIRM, happened_at=AT - timedelta(days=6))], by)
    assert "The air of all has been looked after." in seen(page.get(round_of(team)))
    Item.objects.filter(id=item.id).update(last_air_check_at=None)
    AirRecord.objects.all().delete()
    record_all_air([NewAirRecord(item, felt=Felt.FIRM, happened_at=AT - timedelta(days=7))], by)
    assert "1 helmet is still to be looked after." in seen(page.get(round_of(team)))


def test_an_items_page_tells_its_air_in_words_a_picture_and_a_table(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    by = factories.stamp(team.organisation)
    for week, felt in enumerate((Felt.FIRM, Felt.AIR_ADDED, Felt.FIRM)):
        record_all_air([NewAirRecord(item, felt=felt, happened_at=AT - timedelta(weeks=week))], by)
    answer = page.get(reverse("gearlife:item", args=[item.id]))
    text = seen(answer)

    assert "Looked after 3 times; it needed air once. Last, on Oct. 14, 2026: firm." in text
    assert "nothing is suspected; a slow leak may take weeks to show." in text
    assert "strokes" in answer.content.decode()
    assert links(answer)["Look after its air"] == air_of(item)


def test_a_suspected_leak_is_said_at_the_head_of_the_items_page(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    others = [worn(team, number, model=item.model) for number in range(20, 28)]
    by = factories.stamp(team.organisation)
    for week in range(5):
        at = AT - timedelta(weeks=4 - week)
        record_all_air([NewAirRecord(each, felt=Felt.FIRM, happened_at=at) for each in others], by)
        record_all_air([NewAirRecord(item, felt=Felt.AIR_ADDED, happened_at=at)], by)
    text = seen(page.get(reverse("gearlife:item", args=[item.id])))

    assert "A leak is suspected. It needed air on 5 of 5 days" in text
    assert "A leak is suspected" in seen(page.get("/"))


def test_a_foam_helmets_page_says_nothing_of_air(page: Client, team: Team) -> None:
    item = worn(team, 7)
    text = seen(page.get(reverse("gearlife:item", args=[item.id])))
    assert "Its air" not in text
    assert "Look after its air" not in text


def test_a_coach_reads_and_records_nothing(client: Client, team: Team, standing_clock: None) -> None:
    item = helmet(team, 7)
    coach = sign_in(client, person(Role.COACH, at=team))

    assert "records nothing" in seen(coach.get(air_of(item)))
    assert coach.post(air_of(item), {"felt": "firm"}).status_code == 403


def stating(item: Item) -> str:
    return reverse("inspections:model-air", args=[item.model_id])


def state(client: Client, item: Item, **typed: str) -> Any:
    sent = next(each.fields for each in forms(client.get(stating(item))) if "cells" in each.fields)
    return client.post(stating(item), {**sent, **typed})


def test_an_officer_copies_a_models_cells_and_range_from_the_booklet_and_sees_no_figure_again(
    page: Client, team: Team
) -> None:
    item = helmet(team, 7)
    typed = {"cells": "front\ncrown", "lowest_kpa": "11.25", "highest_kpa": "33.75", "stated_in": "booklet, page 4"}
    assert state(page, item, **typed).status_code == 303
    row = AirOfModel.objects.get()
    assert (row.cells, row.lowest_kpa, row.highest_kpa, row.stated_in) == (
        ["front", "crown"],
        11.25,
        33.75,
        "booklet, page 4",
    )
    shown = page.get(stating(item))
    assert "A range is recorded" in seen(shown)
    assert not any(figure in shown.content.decode() for figure in ("11.25", "33.75"))
    state(page, item, outside_counts_as="stop")
    row.refresh_from_db()
    assert (row.lowest_kpa, row.outside_counts_as) == (11.25, "stop")


def test_a_range_without_its_source_is_refused(page: Client, team: Team) -> None:
    answer = state(page, helmet(team, 7), lowest_kpa="10", highest_kpa="30")
    assert answer.status_code == 400
    assert "Say where the maker states it" in seen(answer)
    assert not AirOfModel.objects.exists()


def test_another_clubs_item_and_team_are_404(page: Client, team: Team) -> None:
    other = factories.TeamFactory.create()
    assert page.get(air_of(helmet(other))).status_code == 404
    assert page.get(round_of(other)).status_code == 404


def test_a_round_of_many_takes_as_many_queries_as_one_of_few(page: Client, team: Team) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            page.get(round_of(team))
        return len(captured)

    model = ModelFactory.create(manufacturer__organisation=team.organisation, liner=Liner.AIR)
    for number in range(3):
        worn(team, number, model=model)
    page.get(round_of(team))
    few = asked()
    for number in range(10, 22):
        worn(team, number, model=model)
    assert asked() == few


def test_an_items_page_of_many_records_takes_as_many_queries_as_one_of_few(page: Client, team: Team) -> None:
    item = helmet(team, 7)
    by = factories.stamp(team.organisation)

    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            page.get(reverse("gearlife:item", args=[item.id]))
        return len(captured)

    record_all_air([NewAirRecord(item, felt=Felt.FIRM, measured=Measured(20, 20, 0))] * 1, by)
    asked()
    few = asked()
    for days in range(1, 4):
        at = AT - timedelta(days=days)
        record_all_air([NewAirRecord(item, felt=Felt.FIRM, measured=Measured(20, 20, 0), happened_at=at)], by)
    assert asked() <= few + 2  # the others of its model are asked about once there is something to compare
