"""What every page promises: who may open it, what a refusal shows, that a form acts once, and the headers."""

from typing import Any
from uuid import UUID

import pytest
from django.test import Client
from django.urls import include, path

from gearlife.domain.errors import ConflictError, Fault
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Team, User
from gearlife.operations import access
from gearlife.operations.organisations import add_team
from gearlife.web.pages import Page
from tests import factories
from tests.pages import fields, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.urls(__name__)]
made: list[UUID] = []


class Probe(Page):
    """A page of the tests: it makes a team, and refuses some names."""

    template = "gearlife/probe.html"
    title = "Probe"

    def act(self) -> str:
        club = self.found(Club.objects, self.id_named("club"))
        stamp = self.permit(club)
        if self.text("name") == "refused":
            raise ConflictError("no", faults=[Fault("The first reason."), Fault("The <second> reason.")])
        made.append(self.once("probe", stamp, lambda _: add_team(stamp=stamp, club=club, name=self.text("name"))))
        self.told("A team was made.")
        return "/probe/"


urlpatterns = [
    path("probe/", Probe.as_view(), name="probe"),
    # The navigation names places of every package.
    path("", include("gearlife.config.urls")),
]
handler404 = "gearlife.config.refusals.not_found"

WORDS = """{% extends "gearlife/base.html" %}{% load gear %}
{% block content %}<form method="post">{% csrf_token %}{% once %}
<input name="name" value="{{ typed.name }}"></form>{% endblock %}"""


@pytest.fixture(autouse=True)
def probe_template(settings: Any) -> None:
    loaders: list[Any] = [("django.template.loaders.locmem.Loader", {"gearlife/probe.html": WORDS})]
    loaders += [
        ("django.template.loaders.filesystem.Loader", settings.TEMPLATES[0]["DIRS"]),
        ("django.template.loaders.app_directories.Loader",),
    ]
    options = {**settings.TEMPLATES[0]["OPTIONS"], "loaders": loaders}
    settings.TEMPLATES = [{**settings.TEMPLATES[0], "APP_DIRS": False, "OPTIONS": options}]
    made.clear()


def somebody(club: Club, role: Role, name: str = "") -> User:
    user = access.add_user(organisation=club.organisation, username=name or role.value)
    team = Team.objects.filter(club=club).first() or factories.TeamFactory.create(club=club)
    access.grant(
        user=user, role=role, club=club if role is Role.OFFICER else None, team=team if role is Role.COACH else None
    )
    return user


def sent(client: Client, club: Club, name: str) -> Any:
    form = fields(client.get("/probe/")) | {"club": str(club.id), "name": name}
    return client.post("/probe/", form)


def test_whoever_is_not_signed_in_goes_to_the_sign_in_page_and_comes_back(client: Client) -> None:
    answer = client.get("/probe/?a=1")
    assert answer.status_code == 303
    assert answer["Location"] == "/sign-in/?next=%2Fprobe%2F%3Fa%3D1"


def test_an_act_goes_on_to_the_next_page_which_tells_of_it(client: Client) -> None:
    club = factories.ClubFactory.create()
    sign_in(client, somebody(club, Role.OFFICER))
    answer = sent(client, club, "Eagles of the test")
    assert (answer.status_code, answer["Location"]) == (303, "/probe/")
    assert "A team was made." in seen(client.get("/probe/"))
    assert Team.objects.filter(name="Eagles of the test").count() == 1


def test_a_form_sent_twice_acts_once(client: Client) -> None:
    club = factories.ClubFactory.create()
    sign_in(client, somebody(club, Role.OFFICER))
    form = fields(client.get("/probe/")) | {"club": str(club.id), "name": "Twice"}
    assert [client.post("/probe/", form).status_code for _ in range(2)] == [303, 303]
    assert Team.objects.filter(name="Twice").count() == 1
    assert made[0] == made[1] == UUID(form["id"])


def test_a_form_without_its_id_is_refused_and_says_what_to_do(client: Client) -> None:
    club = factories.ClubFactory.create()
    sign_in(client, somebody(club, Role.OFFICER))
    answer = client.post("/probe/", {"club": str(club.id), "name": "No id", "id": "7"})
    assert answer.status_code == 400
    assert "open the page again" in seen(answer)
    assert not Team.objects.filter(name="No id").exists()


def test_a_refusal_shows_every_reason_and_what_was_typed(client: Client) -> None:
    club = factories.ClubFactory.create()
    sign_in(client, somebody(club, Role.OFFICER))
    answer = sent(client, club, "refused")
    assert answer.status_code == 409
    assert "The first reason. The <second> reason." in seen(answer)
    assert b"<second>" not in answer.content
    assert fields(answer)["name"] == "refused"


@pytest.mark.parametrize(("role", "opens", "acts"), [(Role.AUDITOR, 200, 403), (Role.DAMAGE_REPORTER, 403, 403)])
def test_a_role_that_does_not_carry_it_gets_a_page_that_says_so(
    client: Client, role: Role, opens: int, acts: int
) -> None:
    club = factories.ClubFactory.create()
    sign_in(client, somebody(club, role))
    assert client.get("/probe/").status_code == opens
    answer = client.post("/probe/", {"club": str(club.id), "name": "By role"})
    assert answer.status_code == acts
    assert "Your role does not carry this" in seen(answer)


def test_an_officer_of_another_club_is_refused_in_this_one(client: Client) -> None:
    club = factories.ClubFactory.create()
    other = factories.ClubFactory.create(organisation=club.organisation)
    sign_in(client, somebody(other, Role.OFFICER))
    answer = sent(client, club, "Elsewhere")
    assert answer.status_code in {403, 404, 409}
    assert not Team.objects.filter(name="Elsewhere").exists()


def test_a_foreign_row_and_none_give_the_same_page(client: Client) -> None:
    club, foreign = factories.ClubFactory.create(), factories.ClubFactory.create()
    sign_in(client, somebody(club, Role.OFFICER))
    form = fields(client.get("/probe/")) | {"name": "Foreign"}
    pages = [client.post("/probe/", form | {"club": id_}) for id_ in (str(foreign.id), form["id"])]
    assert [page.status_code for page in pages] == [404, 404]
    assert pages[0].content == pages[1].content


def test_no_page_lets_anything_from_elsewhere_or_inline_in(client: Client) -> None:
    for address in ("/cautions/", "/sign-in/", "/nothing/"):
        answer = client.get(address)
        rule = answer["Content-Security-Policy"]
        assert "default-src 'none'" in rule
        assert "unsafe" not in rule
        assert b"style=" not in answer.content
        assert b"<script>" not in answer.content
        assert (answer["X-Content-Type-Options"], answer["X-Frame-Options"]) == ("nosniff", "DENY")


def test_a_page_is_kept_by_no_cache_on_the_way(client: Client) -> None:
    club = factories.ClubFactory.create()
    sign_in(client, somebody(club, Role.OFFICER))
    assert client.get("/probe/")["Cache-Control"] == "private, no-cache"


def test_styles_and_scripts_come_from_the_program_itself(client: Client) -> None:
    answer = client.get("/static/gearlife/page.css")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/css")
    answer.close()


def test_an_address_that_does_not_exist_is_a_page_for_people_and_a_problem_for_programs(client: Client) -> None:
    assert client.get("/nothing/")["Content-Type"].startswith("text/html")
    assert client.get("/api/v1/nothing/")["Content-Type"] == "application/problem+json"
