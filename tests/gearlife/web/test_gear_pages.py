"""The gear list on a page and as a file, one item by hand, and changes of recorded facts."""

import csv
import io
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date
from typing import Any

import pytest
from django.test import Client

from gearlife.domain.vocabulary import CertificationKind, Evidence, Role, Standing
from gearlife.models import Club, Item, Team, User
from gearlife.operations import holds, items
from gearlife.operations.certifications import NewCertification, certify
from gearlife.queries import gear_list
from tests.factories import (
    DAY,
    ItemFactory,
    ModelFactory,
    OrganisationFactory,
    PlayerFactory,
    TeamFactory,
    pads,
    person,
    put_on,
    stamp,
)
from tests.pages import links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]
MaxQueries = Callable[[int], AbstractContextManager[Any]]


def browse(user: User) -> Client:
    return sign_in(Client(), user)


def listed(browser: Client, **asked: str) -> set[str]:
    """The serials that stand in the list under these filters; the file has the same."""
    page = browser.get("/gear/", asked)
    assert page.status_code == 200
    words = seen(page).split()
    shown = {serial.rstrip(",") for serial in words if serial.startswith("SN-")}
    assert shown == {row["serial"] for row in file_of(browser, **asked)}
    return shown


def file_of(browser: Client, **asked: str) -> list[dict[str, str]]:
    answer = browser.get("/gear/csv/", asked)
    text = b"".join(answer).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def test_each_item_says_what_it_is_where_it_is_and_why_it_must_not_be_worn(
    browser: Client, club: Club, team: Team
) -> None:
    worn = ItemFactory.create(club=club)
    holds.hold(new=holds.NewHold(worn.id, "Crack above the left ear."), stamp=stamp(club.organisation))
    put_on(worn, PlayerFactory.create(club=club, team=team, jersey_number=54, family_name="Northfield"))
    page = browser.get("/gear/")
    words = seen(page)
    assert f"{worn.serial} {worn.manufacturer.name} {worn.model.name}, size M on 54 Northfield" in words
    assert "made 2026-03" in words
    assert "Crack above the left ear." in words
    assert b'class="tag-out"' in page.content
    assert b'class="mini-life"' in page.content
    assert "1 item." in words


def test_filters_stand_in_the_address_and_hold_for_list_and_file(browser: Client, club: Club, team: Team) -> None:
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    old = ItemFactory.create(club=club, model=model, size="XL", made_on="2016-10")
    new = ItemFactory.create(club=club, team=team)
    undated = ItemFactory.create(club=club, made_on="")
    pad = pads(club)
    every = {item.serial for item in (old, new, undated, pad)}
    assert listed(browser) == every
    assert listed(browser, size="xl") == {old.serial}
    assert listed(browser, model=str(model.id)) == {old.serial}
    assert listed(browser, manufacturer=str(model.manufacturer_id)) == {old.serial}
    assert listed(browser, kind="shoulder_pads") == {pad.serial}
    assert listed(browser, team=str(team.id)) == {new.serial}
    assert listed(browser, club=str(club.id)) == every
    assert listed(browser, q=old.serial.lower()[-4:]) == {old.serial}
    assert listed(browser, whereabouts="player") == set()
    assert listed(browser, model="no-id") == set()


def test_years_since_it_was_made_are_whole_ones_counted_as_the_age_page_counts(browser: Client, club: Club) -> None:
    # As of 14 October 2026: ten years old since that very day, one day short of it, and without a date.
    ten = ItemFactory.create(club=club, made_on="2016-10-14")
    nine = ItemFactory.create(club=club, made_on="2016-10-15")
    ItemFactory.create(club=club, made_on="")
    assert listed(browser, years_from="10") == {ten.serial}
    assert listed(browser, years_to="9") == {nine.serial}
    assert listed(browser, years_from="9", years_to="10") == {nine.serial, ten.serial}


def test_standing_and_whether_it_may_go_out_are_asked_of_the_rules_now(browser: Client, club: Club) -> None:
    free, held = ItemFactory.create(club=club), ItemFactory.create(club=club)
    holds.hold(new=holds.NewHold(held.id, "Loose rivet."), stamp=stamp(club.organisation))
    gone = ItemFactory.create(club=club)
    items.retire(item=gone, reason="Old.", on=None, stamp=stamp(club.organisation))
    assert listed(browser, standing="stopped") == {held.serial}
    assert listed(browser, standing="retired") == {gone.serial}
    assert listed(browser, issuable="yes") == {free.serial}
    assert listed(browser, issuable="no") == {held.serial, gone.serial}


def test_too_many_to_be_weighed_says_how_to_ask_for_less(
    browser: Client, club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gear_list, "MOST_WEIGHED", 1)
    for _ in range(3):
        ItemFactory.create(club=club)
    assert "name a club, team, model or size as well" in seen(browser.get("/gear/", {"issuable": "yes"}))
    assert browser.get("/gear/csv/", {"issuable": "yes"}).status_code == 409


def test_what_somebody_has_is_found_by_number_or_name(browser: Client, club: Club, team: Team) -> None:
    worn, _ = ItemFactory.create(club=club), ItemFactory.create(club=club)
    put_on(worn, PlayerFactory.create(club=club, team=team, jersey_number=7, family_name="Northfield"))
    assert listed(browser, held_by="7") == {worn.serial}
    assert listed(browser, held_by="northf") == {worn.serial}
    assert listed(browser, held_by="8") == set()


def test_a_coach_sees_the_own_teams_gear_and_no_name_of_others(browser: Client, club: Club, team: Team) -> None:
    theirs = ItemFactory.create(club=club, team=team)
    other = PlayerFactory.create(club=club, team=TeamFactory.create(club=club), jersey_number=7, family_name="Otherone")
    put_on(theirs, other)
    Item.objects.filter(id=theirs.id).update(team=team)
    ItemFactory.create(club=club)
    coach = browse(person(Role.COACH, at=team))
    assert listed(coach) == {theirs.serial}
    assert "Otherone" not in seen(coach.get("/gear/"))
    assert listed(coach, held_by="7") == set()
    assert {row["holder"] for row in file_of(coach)} == {""}
    assert {row["holder"] for row in file_of(browser)} == {"7 Otherone", ""}


def test_the_file_has_the_columns_of_the_intake_and_what_the_records_say(browser: Client, club: Club) -> None:
    item = ItemFactory.create(club=club, colour="red", notes="first team")
    certification = NewCertification(
        kind=CertificationKind.RECERTIFICATION, certified_on=date(2026, 9, 1), firm="Riverside", evidence=Evidence.LABEL
    )
    certify(item=item, new=certification, stamp=stamp(club.organisation))
    [row] = file_of(browser)
    assert list(row)[:12] == list(gear_list.COLUMNS)[:12]
    assert (row["serial"], row["kind"], row["made_on"], row["colour"]) == (item.serial, "helmet", "2026-03", "red")
    assert (row["certified_on"], row["certified_by"]) == ("2026-09-01", "Riverside")
    assert (row["standing"], row["whereabouts"], row["holder"]) == (Standing.NO_STOP, "stock", "")
    # The maker of the tests' helmets states 24 months; the earliest limit ahead is the first on the item's page.
    assert date.fromisoformat(row["next_limit_on"]) >= DAY
    assert row["next_limit"]


@pytest.mark.parametrize("begin", ["=", "+", "-", "@", "\t", "＝", "＋", "－", "＠"])
def test_what_a_spreadsheet_would_run_is_text_in_the_file(browser: Client, club: Club, begin: str) -> None:
    ItemFactory.create(club=club, notes=f"{begin}1+1", colour=f"{begin}cmd")
    [row] = file_of(browser)
    assert row["notes"].startswith("'")
    assert row["colour"].startswith("'")


@pytest.mark.parametrize("count", [3, 60])
def test_the_list_asks_as_much_for_three_items_as_for_sixty(
    browser: Client, club: Club, team: Team, count: int, django_assert_max_num_queries: MaxQueries
) -> None:
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    for number in range(count):
        item = ItemFactory.create(club=club, model=model)
        if number % 2:
            put_on(item, PlayerFactory.create(club=club, team=team))
    browser.get("/gear/")
    with django_assert_max_num_queries(32):
        assert f"{count} items." in seen(browser.get("/gear/"))
    with django_assert_max_num_queries(42):
        assert len(file_of(browser)) == count


def test_a_long_list_has_pages_that_keep_the_filter(browser: Client, club: Club) -> None:
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    for _ in range(51):
        ItemFactory.create(club=club, model=model)
    page = browser.get("/gear/", {"kind": "helmet"})
    second = browser.get("/gear/" + links(page)["Next page"])
    assert "Page 2 of 2" in seen(second)
    assert links(second)["Page before"] == "?kind=helmet&page=1"
    assert links(second)["All of these as CSV"] == "/gear/csv/?kind=helmet"
    assert len(file_of(browser, kind="helmet")) == 51


def test_without_gear_it_says_what_comes_next(browser: Client) -> None:
    page = browser.get("/gear/")
    assert "There is no gear yet." in seen(page)
    assert links(page)["Take in the club's file"] == "/take-in/"
    assert "No item is like this." in seen(browser.get("/gear/", {"q": "zzz"}))


def test_another_organisation_sees_none_of_it(club: Club) -> None:
    item = ItemFactory.create(club=club)
    stranger = browse(person(Role.ADMINISTRATOR, at=OrganisationFactory.create()))
    assert listed(stranger) == set()
    assert listed(stranger, club=str(club.id)) == set()
    assert stranger.get(f"/gear/{item.id}/change/").status_code == 404
    assert club.name not in seen(stranger.get("/gear/"))
