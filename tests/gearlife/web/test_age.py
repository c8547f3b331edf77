"""The page on the age of all gear: what it says, who sees what of it, what it costs, and its files."""

import csv
import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club, Item
from gearlife.operations.organisations import change_club
from tests.factories import ClubFactory, ItemFactory, ModelFactory, TeamFactory, add_rule, pads, person, stamp
from tests.gearlife.operations.many_items import helmets
from tests.pages import forms, links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def club() -> Club:
    return ClubFactory.create(name="Otter Bend")


@pytest.fixture
def officer(club: Club) -> Client:
    return sign_in(Client(), person(Role.OFFICER, at=club))


@pytest.fixture
def whole(club: Club) -> Client:
    return sign_in(Client(), person(Role.AUDITOR, at=club.organisation))


def rows_of(answer: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(answer.content.decode().splitlines()))


def test_it_begins_with_the_answer_in_a_sentence(officer: Client, club: Club) -> None:
    """Made in May 2018: 8 years old, and 24 months of certification long over. Made in November 2024: to be certified
    again before the last game of December 2026."""
    ItemFactory.create(club=club, made_on="2018-05")
    ItemFactory.create(club=club, made_on="2024-11")
    ItemFactory.create(club=club, made_on="2026-03")
    pads(club)
    text = seen(officer.get("/age/"))
    assert "1 of 4 helmets and sets of pads is 8 years or older." in text
    assert "1 reaches a limit of age or certification before the last game of this season." in text
    assert "1 has reached one already." in text
    assert "1 has no recorded date of manufacture, so that nobody can say how old it is." in text


def test_the_sentence_counts_from_two_years_before_the_first_limit(officer: Client, club: Club) -> None:
    add_rule(club.organisation, code="short_life", amount=60, kind=Kind.HELMET.value)
    ItemFactory.create(club=club, made_on="2023-05")
    ItemFactory.create(club=club, made_on="2024-05")
    assert "1 of 2 helmets is 3 years or older." in seen(officer.get("/age/"))


def test_the_picture_and_the_table_tell_the_same(officer: Client, club: Club) -> None:
    model = ModelFactory.create(manufacturer__organisation=club.organisation, name="Dome")
    for made_on in ("2016-10-15", "2016-10-14", "2016", "2024-01"):
        ItemFactory.create(club=club, model=model, made_on=made_on)
    answer = officer.get("/age/?by=model")
    html = answer.content.decode()
    description = re.sub(r"\s+", " ", re.findall(r"<desc[^>]*>(.*?)</desc>", html, re.DOTALL)[0])
    assert "2 years: 1. 9 years: 1. 10 years: 2." in description
    assert "Limit: recertification limit, 10 seasons. Limit: age limit, 16 years." in description
    table = re.findall(r'<tr><td>(\d+|no date)</td><td class="count">(\d+)</td></tr>', html)
    assert table == [("2", "1"), ("9", "1"), ("10", "2")]
    strokes = re.findall(r'class="strokes" d="([^"]*)"', html)
    assert [path.count("M") for path in strokes] == [1, 1, 2]
    assert "Texas Education Code 33.094" in seen(answer)


def test_pads_have_no_limits_of_helmets(officer: Client, club: Club) -> None:
    pads(club, made_on="2020")
    text = seen(officer.get("/age/"))
    assert "recertification" not in text.replace("a limit of age or certification", "")
    assert "No limit of age or certification is in force for this gear." in text


def test_each_limit_stands_by_the_season_in_which_it_is_reached(officer: Client, club: Club) -> None:
    ItemFactory.create(club=club, made_on="2016")
    ItemFactory.create(club=club, made_on="2017")
    ItemFactory.create(club=club, made_on="")
    html = officer.get("/age/").content.decode()
    lines = re.findall(r"<tr>(?:<th[^>]*>([^<]*)</th>)?<td>([^<]*)</td><td class=\"count\">(\d+)</td></tr>", html)
    assert ("recertification limit", "reached", "1") in lines
    assert ("", "2027", "1") in lines
    assert ("no date of manufacture", "reached", "1") in lines
    assert "weekly look" not in html


def test_gear_is_shown_by_what_is_asked_and_narrowed(whole: Client, club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation, name="Far Weir")
    team = TeamFactory.create(club=club, name="Reserves")
    item = ItemFactory.create(club=club, team=team)
    ItemFactory.create(club=other)
    headings = {
        "by=club": ["Far Weir 1", "Otter Bend 1"],
        "by=team": ["Far Weir, of no team 1", "Otter Bend, Reserves 1"],
        "by=all": ["All gear 2"],
        f"by=team&club={club.id}": ["Reserves 1"],
        f"by=club&team={team.id}": ["Otter Bend 1"],
        f"by=kind&model={item.model_id}": ["Helmets 1"],
        f"by=kind&kind={Kind.SHOULDER_PADS}": [],
        f"by=club&club={uuid7()}": [],
    }
    for query, expected in headings.items():
        html = whole.get(f"/age/?{query}").content.decode()
        found = re.findall(r'<h3>([^<]*) <span class="quiet">(\d+)</span></h3>', html)
        assert [" ".join(each) for each in found] == expected, query
    form = forms(whole.get(f"/age/?by=club&club={club.id}"))[-1]
    assert (form.fields["by"], form.fields["club"], form.fields["kind"]) == ("club", str(club.id), "")


def test_a_club_of_one_has_no_choice_of_clubs(officer: Client, club: Club) -> None:
    ItemFactory.create(club=club)
    assert forms(officer.get("/age/"))[-1].fields.keys() == {"by", "kind", "whereabouts"}


def test_many_groups_are_drawn_together_and_listed_each(officer: Client, club: Club) -> None:
    for _ in range(17):
        ItemFactory.create(club=club)
    answer = officer.get("/age/?by=model")
    assert "17 groups are too many to draw one by one" in seen(answer)
    html = answer.content.decode()
    assert html.count("<svg") == 1
    assert html.count("Dome") >= 17


def test_a_large_pile_is_drawn_to_scale(officer: Client, club: Club) -> None:
    helmets(club, 120)
    answer = officer.get("/age/")
    assert "One stroke is 5 items, a shorter one less." in seen(answer)
    (path,) = re.findall(r'class="strokes" d="([^"]*)"', answer.content.decode())
    assert path.count("M") == 24


@pytest.mark.parametrize("query", ["by=size", "kind=shoe", "club=rookmoor", "whereabouts=roof", "model=%00"])
def test_a_question_that_does_not_exist_is_a_page_that_does_not_exist(officer: Client, query: str) -> None:
    for address in ("/age/", "/age/csv/"):
        assert officer.get(f"{address}?{query}").status_code == 404


def test_without_gear_it_says_what_comes_next(officer: Client, club: Club) -> None:
    text = seen(officer.get("/age/"))
    assert "There is no gear yet." in text
    assert "None of" not in text
    ItemFactory.create(club=club)
    answer = officer.get("/age/?whereabouts=missing")
    assert "No gear is like this." in seen(answer)
    assert links(answer)["Show all"] == "/age/"


def test_stale_limits_are_told(officer: Client, club: Club) -> None:
    ItemFactory.create(club=club)
    assert "being reckoned anew" not in seen(officer.get("/age/"))
    Club.objects.filter(id=club.id).update(policy_revision=9)
    assert "The limits of 1 item are being reckoned anew" in seen(officer.get("/age/"))


@pytest.mark.parametrize(
    ("role", "status"),
    [
        (Role.ADMINISTRATOR, 200),
        (Role.AUDITOR, 200),
        (Role.OFFICER, 200),
        (Role.COACH, 403),
        (Role.DAMAGE_REPORTER, 403),
    ],
)
def test_it_is_for_those_who_answer_for_gear(club: Club, role: Role, status: int) -> None:
    place = TeamFactory.create(club=club) if role is Role.COACH else club if role is Role.OFFICER else club.organisation
    client = sign_in(Client(), person(role, at=place))
    for address in ("/age/", "/age/csv/"):
        assert client.get(address).status_code == status
        assert client.post(address).status_code in {403, 405}


def test_the_navigation_names_it(officer: Client) -> None:
    assert links(officer.get("/age/"))["Gear age"] == "/age/"


def test_an_officer_sees_the_own_club(officer: Client, club: Club) -> None:
    ItemFactory.create(club=club)
    ItemFactory.create(club=ClubFactory.create(organisation=club.organisation, name="Far Weir"))
    answer = officer.get("/age/?by=club")
    assert "None of 1 helmet is 8 years or older." in seen(answer)
    assert b"Far Weir" not in answer.content + officer.get("/age/csv/?by=club").content


def test_ages_are_a_file(officer: Client, club: Club) -> None:
    change_club(club=club, changes={"name": "=SUM(1)"}, stamp=stamp(club.organisation))
    ItemFactory.create(club=club, made_on="2020")
    pads(club)
    answer = officer.get("/age/csv/?by=club")
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="gear-ages-2026-10-14.csv"'
    assert not answer.content.startswith(b"\xef\xbb\xbf")
    assert rows_of(answer) == [
        {"on": "2026-10-14", "club": "'=SUM(1)", "kind": "helmet", "years": "6", "items": "1"},
        {"on": "2026-10-14", "club": "'=SUM(1)", "kind": "shoulder_pads", "years": "", "items": "1"},
    ]


def test_limits_are_a_file(officer: Client, club: Club) -> None:
    ItemFactory.create(club=club, made_on="2017")
    address = links(officer.get("/age/?by=all"))["Limits as a CSV file"]
    rows = [row for row in rows_of(officer.get(address)) if row["code"] == "recertification_limit"]
    told = {"on": "2026-10-14", "kind": "helmet", "code": "recertification_limit", "effect": "warn", "season": "2027"}
    assert rows == [told | {"reached": "no", "items": "1", "stale": "0"}]


@pytest.mark.parametrize("address", ["/age/?by=team", "/age/?by=model", "/age/csv/?by=model"])
def test_300_items_ask_as_much_as_3(officer: Client, club: Club, address: str) -> None:
    officer.get(address)  # the first request of a session notes that it is in use
    asked = []
    for count in (3, 297):
        helmets(club, count)
        with CaptureQueriesContext(connection) as captured:
            assert officer.get(address).status_code == 200
        asked.append(len(captured))
    assert Item.objects.filter(club=club).count() == 300
    assert asked[0] == asked[1] <= 11
