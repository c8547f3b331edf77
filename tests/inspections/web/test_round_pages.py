"""The teams and how far each is; one team's items, those first that are open."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Team
from gearlife.web.registry import item_acts, places_for
from gearlife.web.tags import day
from inspections.web.sections import check_today
from tests import factories
from tests.factories import DAY, PlayerFactory, TeamFactory, person, put_on
from tests.inspections.web.checking import look_at, off, page_of, send, worn
from tests.pages import links, seen, sign_in

pytestmark = pytest.mark.django_db
ROUNDS = "/check/"


def test_every_team_says_in_words_how_far_it_is(page: Client, club: Club, team: Team) -> None:
    first, _, third = (worn(team, number) for number in (1, 2, 3))
    other = TeamFactory.create(club=club)
    send(page, look_at(first), "nothing")
    send(page, look_at(third), "not_seen")
    text = seen(page.get(ROUNDS))

    assert f"{team.name} 1 of 3 looked over, 1 not seen, 1 not yet." in text
    assert f"{other.name} Nobody wears anything." in text
    assert "A look counts for 7 days" in text


def test_without_any_team_it_says_what_comes_next(page: Client) -> None:
    assert "Add teams and players first" in seen(page.get(ROUNDS))


def test_a_team_lists_first_what_is_open_then_not_seen_then_looked_over(page: Client, team: Team) -> None:
    items = [worn(team, number, family_name=name) for number, name in ((1, "Alder"), (2, "Birch"), (3, "Cedar"))]
    send(page, look_at(items[0]), "nothing")
    send(page, look_at(items[1]), "not_seen")
    page.get(page_of(team))  # what was told of the last act is told once
    text = seen(page.get(page_of(team)))
    order = [text.index(word) for word in ("Not yet", "Cedar", "Not seen", "Birch", "Looked over", "Alder")]

    assert order == sorted(order)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"number": "1"}, ["Alder", "Birch"]),
        ({"words": "ced"}, ["Cedar", "Cedric"]),
        ({"words": "zz-7"}, ["Cedar", "Birch"]),
    ],
)
def test_a_line_is_found_by_number_name_tag_or_serial(
    page: Client, team: Team, asked: dict[str, str], found: list[str]
) -> None:
    """Letters fit anywhere in a serial, whatever its dashes; a number only the whole number."""
    worn(team, 1, family_name="Alder")
    worn(team, 1, family_name="Birch", serial="ZZ 71")
    worn(team, 12, family_name="Cedar", serial="zz-72")
    worn(team, 11, family_name="Cedric")
    text = seen(page.get(page_of(team), asked))

    assert {name for name in ("Alder", "Birch", "Cedar", "Cedric") if name in text} == set(found)


def test_what_fits_one_line_alone_leads_to_it(page: Client, team: Team) -> None:
    worn(team, 1)
    item = worn(team, 7)

    assert page.get(page_of(team), {"number": "7"})["Location"] == look_at(item)


def test_what_fits_nothing_says_so(page: Client, team: Team) -> None:
    worn(team, 1)

    assert "No line has this." in seen(page.get(page_of(team), {"words": "nobody"}))


def test_what_must_not_be_worn_says_so_at_its_line_and_leads_to_taking_it_off(page: Client, team: Team) -> None:
    item = worn(team, 1)
    send(page, look_at(item), "something", found=["shell.crack"])
    shown = page.get(page_of(team))

    assert "shell: crack (stop)" in seen(shown)
    assert links(shown)["Take it off"] == off(item)


def test_a_team_that_wears_nothing_says_what_comes_next(page: Client, team: Team) -> None:
    assert "Hand gear out first" in seen(page.get(page_of(team)))


@pytest.mark.parametrize("name", ["round", "clipboard", "from-paper"])
def test_another_organisations_team_is_the_404_of_none(client: Client, team: Team, item: Item, name: str) -> None:
    sign_in(client, person(Role.OFFICER, at=factories.ClubFactory.create()))
    answers = [client.get(reverse(f"inspections:{name}", args=[id_])) for id_ in (team.id, item.id)]

    assert [answer.status_code for answer in answers] == [404, 404]
    assert answers[0].content == answers[1].content


@pytest.mark.parametrize("name", ["round", "clipboard", "from-paper"])
def test_a_coach_reads_the_own_team_and_not_the_next(
    client: Client, club: Club, team: Team, name: str, standing_clock: None
) -> None:
    worn(team, 1)
    sign_in(client, person(Role.COACH, at=team))

    assert client.get(page_of(team, name)).status_code == 200
    assert client.get(page_of(TeamFactory.create(club=club), name)).status_code == 404


def test_a_damage_reporter_opens_none_of_it(client: Client, club: Club, standing_clock: None) -> None:
    sign_in(client, person(Role.DAMAGE_REPORTER, at=club))

    assert client.get(ROUNDS).status_code == 403


def test_sixty_items_are_shown_in_as_many_queries_as_three(page: Client, club: Club) -> None:
    small, large = (TeamFactory.create(club=club) for _ in range(2))
    model = factories.ModelFactory.create(manufacturer__organisation=club.organisation)
    for team, many in ((small, 3), (large, 60)):
        for number in range(many):
            put_on(
                factories.ItemFactory.create(club=club, model=model),
                PlayerFactory.create(club=club, team=team, jersey_number=number),
            )

    def queries(team: Team) -> list[int]:
        counts = []
        first = Item.objects.filter(team=team).order_by("id")[0]
        for address in (page_of(team), page_of(team, "clipboard"), page_of(team, "from-paper"), look_at(first)):
            page.get(address)
            with CaptureQueriesContext(connection) as captured:
                assert page.get(address).status_code == 200
            counts.append(len(captured))
        return counts

    assert queries(small) == queries(large)
    assert max(queries(large)) <= 40


def test_the_teams_are_told_in_as_many_queries_for_two_as_for_twenty(page: Client, club: Club) -> None:
    def queries() -> int:
        page.get(ROUNDS)
        with CaptureQueriesContext(connection) as captured:
            page.get(ROUNDS)
        return len(captured)

    worn(TeamFactory.create(club=club), 1)
    few = queries()
    for _ in range(18):
        worn(TeamFactory.create(club=club), 1)
    assert queries() == few <= 20


def test_the_days_page_names_the_teams_with_most_left_first(club: Club, team: Team, standing_clock: None) -> None:
    busy = TeamFactory.create(club=club)
    worn(team, 1)
    worn(busy, 1)
    worn(busy, 2)
    told: Any = check_today(factories.officer(club), DAY)

    assert [(row["place"].name, row["not_yet"]) for row in told["rows"]] == [(busy.name, 2), (team.name, 1)]


def test_the_days_page_says_nothing_of_a_check_while_nobody_wears_anything(
    club: Club, team: Team, standing_clock: None
) -> None:
    assert check_today(factories.officer(club), DAY) is None


def test_the_navigation_and_an_items_acts_lead_here(club: Club) -> None:
    officer, coach = factories.officer(club), factories.actor(Role.AUDITOR, at=club.organisation)

    assert "inspections:rounds" in [place.url_name for place in places_for(officer)]
    row = {"standing": "no_stop", "whereabouts": "stock", "kind": "helmet"}
    assert "inspections:look" in [act.url_name for act in item_acts(row, officer)]
    assert "inspections:look" not in [act.url_name for act in item_acts(row | {"standing": "retired"}, officer)]
    assert "inspections:look" not in [act.url_name for act in item_acts(row, coach)]


@pytest.mark.parametrize("name", ["round", "clipboard", "from-paper"])
def test_the_day_in_a_reason_is_written_as_the_reader_writes_days(page: Client, team: Team, name: str) -> None:
    item = worn(team, 1)
    send(page, look_at(item), "something", found="shell.crack")
    for address in (page_of(team, name), look_at(item)):
        text = seen(page.get(address))

        assert f"Held since {day(DAY)}" in text
        assert DAY.isoformat() not in text
